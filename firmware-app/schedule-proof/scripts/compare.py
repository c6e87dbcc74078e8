#!/usr/bin/env python3
"""Runs the planner and CP-SAT on the same files, one after the other on each file, and prints one table.

usage: compare.py --judge PATH/judge-planning --python PYTHON_WITH_ORTOOLS [--seconds S] [--known FILE] FILE.json ...
"""
import argparse
import json
import pathlib
import subprocess


def rival(python, workers, seconds, files):
    script = pathlib.Path(__file__).with_name("rival.py")
    command = [python, str(script), "--seconds", str(seconds), "--workers", str(workers), *files]
    rows = {}
    for line in subprocess.run(command, check=True, capture_output=True, text=True).stdout.splitlines():
        row = json.loads(line)
        rows[row["name"]] = (row["value"], row["status"] in ("OPTIMAL", "INFEASIBLE"), row["peak_mib"])
    return rows


def planner(judge, threads, seconds, known, files):
    command = [judge, "--seconds", str(seconds), "--threads", str(threads), *files]
    command += ["--known", known] if known else []
    out = subprocess.run(command, capture_output=True, text=True).stdout
    rows = {}
    for line in out.splitlines()[1:]:
        if not line.strip():
            break
        if line.startswith("  "):
            continue
        cells = line.replace("best, proven", "proven").split()
        value = None if cells[3] == "-" else int(cells[3])
        rows[cells[0]] = (value, cells[2] in ("proven", "impossible"), float(cells[-1]))
    return rows


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--judge", required=True)
    parser.add_argument("--python", required=True)
    parser.add_argument("--seconds", type=float, default=1.0)
    parser.add_argument("--known")
    parser.add_argument("files", nargs="+")
    args = parser.parse_args()
    kinds, best = {}, json.load(open(args.known)) if args.known else {}
    for path in args.files:
        for instance in json.load(open(path)):
            kinds[instance["name"]] = instance["kind"]
            value = instance.get("opt") or instance.get("ub")
            if value is not None:
                best[instance["name"]] = min(value, best.get(instance["name"], value))
    engines = {
        "CP-SAT, 1 worker": rival(args.python, 1, args.seconds, args.files),
        "CP-SAT, 2 workers": rival(args.python, 2, args.seconds, args.files),
        "planner, 1 thread": planner(args.judge, 1, args.seconds, args.known, args.files),
        "planner, 2 threads": planner(args.judge, 2, args.seconds, args.known, args.files),
    }
    print(f"{'engine':20} {'best known':>10} {'proven':>7} {'mean gap':>9} {'kitchen gap':>11} {'peak MiB':>8}")
    for name, rows in engines.items():
        def gap(key):
            value = rows[key][0] if key in rows else None
            return 100.0 if value is None else 100.0 * (value - best[key]) / max(best[key], 1)
        known = [key for key in kinds if key in best]
        kitchen = [key for key in known if kinds[key] == "kitchen"]
        hits = sum(gap(key) <= 0 for key in known) / max(len(known), 1)
        proven = sum(row[1] for row in rows.values()) / max(len(kinds), 1)
        mean = sum(map(gap, known)) / max(len(known), 1)
        mean_kitchen = sum(map(gap, kitchen)) / max(len(kitchen), 1)
        peak = max(row[2] for row in rows.values())
        print(f"{name:20} {hits:10.0%} {proven:7.0%} {mean:8.3f}% {mean_kitchen:10.3f}% {peak:8.0f}")
    ours, theirs = engines["planner, 2 threads"], engines["CP-SAT, 2 workers"]
    worse = [k for k in kinds if theirs[k][0] is not None and (k not in ours or ours[k][0] is None or ours[k][0] > theirs[k][0])]
    print(f"planner worse than CP-SAT, 2 workers, on {len(worse)} of {len(kinds)}: {' '.join(worse)}")


if __name__ == "__main__":
    main()
