#!/usr/bin/env python3
"""Runs the planner, its parts alone, and CP-SAT on the same files and prints one table; Markdown with --markdown.

usage: compare.py --judge PATH/judge --python PYTHON_WITH_ORTOOLS [--seconds S] [--known FILE] [--markdown] FILE.json ...

Schedules of the planner are checked by the judge; a broken one counts as none. Memory is the most any one process held,
CP-SAT's with Python and the library around it.
"""
import argparse
import json
import pathlib
import subprocess
import tempfile


def rival(args, workers):
    """CP-SAT, each instance in a process of its own."""
    script = pathlib.Path(__file__).with_name("rival.py")
    rows = {}
    for path in args.files:
        for instance in json.load(open(path)):
            command = [args.python, script, "--seconds", str(args.seconds), "--workers", str(workers)]
            command += ["--names", instance["name"], path]
            out = subprocess.run(command, check=True, capture_output=True, text=True).stdout
            row = json.loads(out)
            rows[row["name"]] = (row["value"], row["status"] in ("OPTIMAL", "INFEASIBLE"), row["peak_mib"])
    return rows


def planner(args, threads, engine):
    with tempfile.TemporaryDirectory() as folder:
        told = pathlib.Path(folder) / "rows.jsonl"
        command = [args.judge, "planning", *args.files, "--seconds", str(args.seconds), "--threads", str(threads)]
        command += ["--engine", engine, "--rows", str(told)] + (["--known", args.known] if args.known else [])
        # a missed figure ends it with 1, which is no fault here
        done = subprocess.run(command, stdout=subprocess.DEVNULL)
        if done.returncode > 1:
            raise SystemExit(f"{args.judge} ended with {done.returncode}")
        rows = [json.loads(line) for line in told.read_text().splitlines()]
    return {row["name"]: (row["value"], row["proven"], row["peak_mib"] or 0.0) for row in rows}


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--judge", required=True)
    parser.add_argument("--python", required=True)
    parser.add_argument("--seconds", type=float, default=1.0)
    parser.add_argument("--known")
    parser.add_argument("--markdown", action="store_true")
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
        "planner, 2 threads": planner(args, 2, "both"),
        "planner, 1 thread": planner(args, 1, "both"),
        "own search alone": planner(args, 1, "search"),
        "constraint library alone": planner(args, 1, "library"),
        "CP-SAT, 1 worker": rival(args, 1),
        "CP-SAT, 2 workers": rival(args, 2),
    }
    known = [name for name in kinds if name in best]
    kitchens = [name for name in known if kinds[name] == "kitchen"]
    lines = [("engine", "best known", "proven", "mean gap", "kitchen gap", "most MiB")]
    for engine, rows in engines.items():
        gaps = {}
        for name in known:
            value = rows[name][0]
            gaps[name] = 100.0 if value is None else 100.0 * (value - best[name]) / max(best[name], 1)
        mean = lambda names: sum(gaps[name] for name in names) / max(len(names), 1)
        hits = sum(gap <= 0 for gap in gaps.values()) / max(len(known), 1)
        proven = sum(row[1] for row in rows.values()) / max(len(kinds), 1)
        most = max(row[2] for row in rows.values())
        lines.append((engine, f"{hits:.0%}", f"{proven:.0%}", f"{mean(known):.3f} %", f"{mean(kitchens):.3f} %", f"{most:.0f}"))
    if args.markdown:
        lines.insert(1, ("---",) * len(lines[0]))
        for cells in lines:
            print("| " + " | ".join(cells) + " |")
    else:
        for cells in lines:
            print(f"{cells[0]:26}" + "".join(f"{cell:>13}" for cell in cells[1:]))
    ours = engines["planner, 2 threads"]
    for engine in ("CP-SAT, 1 worker", "CP-SAT, 2 workers"):
        theirs = engines[engine]
        found = lambda rows, name: rows[name][0] if rows[name][0] is not None else float("inf")
        worse = [name for name in kinds if found(ours, name) > found(theirs, name)]
        print(f"planner, 2 threads, worse than {engine} on {len(worse)} of {len(kinds)}: {' '.join(worse)}")


if __name__ == "__main__":
    main()
