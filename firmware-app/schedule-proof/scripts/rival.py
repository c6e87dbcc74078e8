#!/usr/bin/env python3
"""Runs OR-tools' CP-SAT on files of the instance form and prints one JSON line an instance.

A rival for the comparison only; nothing of the planner depends on it.
usage: rival.py --seconds S [--workers N] [--names NAME,..] FILE.json ...
"""
import argparse
import json
import resource
import sys
import time

from ortools.sat.python import cp_model


def model_of(instance):
    model = cp_model.CpModel()
    tasks = instance["tasks"]
    horizon = sum(t["d"] for t in tasks)
    horizon += sum(max(0, lag) for _, _, lag in instance["prec"])
    horizon += sum(max(a, b) for _, _, a, b in instance.get("incompat") or [])
    starts = [model.new_int_var(0, horizon, "") for _ in tasks]
    spans = [
        model.new_fixed_size_interval_var(s, t["d"], "") for s, t in zip(starts, tasks)
    ]
    for i, j, lag in instance["prec"]:
        model.add(starts[j] >= starts[i] + lag)
    for r, cap in enumerate(instance["caps"]):
        users = [(k, a) for k, t in enumerate(tasks) for q, a in t["r"] if q == r and a > 0]
        if not users:
            continue
        if all(2 * a > cap for _, a in users):
            model.add_no_overlap([spans[k] for k, _ in users])
        else:
            model.add_cumulative([spans[k] for k, _ in users], [a for _, a in users], cap)
    for i, j, sij, sji in instance.get("incompat") or []:
        first = model.new_bool_var("")
        model.add(starts[j] >= starts[i] + tasks[i]["d"] + sij).only_enforce_if(first)
        model.add(starts[i] >= starts[j] + tasks[j]["d"] + sji).only_enforce_if(~first)
    weights = instance.get("obj") or [[len(tasks) - 1, 1]]
    model.minimize(sum(w * starts[i] for i, w in weights))
    return model, starts


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=1.0)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--names", default="")
    parser.add_argument("files", nargs="+")
    args = parser.parse_args()
    for path in args.files:
        for instance in json.load(open(path)):
            if args.names and instance["name"] not in args.names.split(","):
                continue
            begun = time.monotonic()
            model, starts = model_of(instance)
            solver = cp_model.CpSolver()
            solver.parameters.max_time_in_seconds = args.seconds
            solver.parameters.num_workers = args.workers
            solver.parameters.random_seed = 1
            status = solver.solve(model)
            found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
            print(json.dumps({
                "name": instance["name"], "kind": instance["kind"],
                "status": solver.status_name(status),
                "value": round(solver.objective_value) if found else None,
                "bound": round(solver.best_objective_bound),
                "seconds": round(time.monotonic() - begun, 3),
                "peak_mib": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
                "starts": [solver.value(s) for s in starts] if found else None,
            }), flush=True)


if __name__ == "__main__":
    sys.exit(main())
