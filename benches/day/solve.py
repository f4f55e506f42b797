"""Solves an exported dispatching problem with the CP-SAT solver of the ortools package.

usage: python solve.py PROBLEM.json [SECONDS]

One optional interval for each operation and resource it holds, the release time added; one
successor chosen for each operation on the path; the terms rank by rank, each rank fixed at its value
before the next. Prints each rank's value, its bound and the time taken.
"""

import json
import sys
import time

from ortools.sat.python import cp_model


def main():
    problem = json.load(open(sys.argv[1]))
    limit = float(sys.argv[2]) if len(sys.argv) > 2 else 60.0
    horizon = 5 * 86400
    model = cp_model.CpModel()
    start, end, used, holds = {}, {}, {}, {}
    for t, train in enumerate(problem["trains"]):
        operations = train["operations"] if isinstance(train, dict) else train
        before = {i: [] for i in range(len(operations))}
        for o, op in enumerate(operations):
            last = not op.get("successors")
            start[t, o] = model.new_int_var(
                op.get("start_lb", 0), op.get("start_ub", horizon), "")
            end[t, o] = model.new_int_var(0, horizon, "")
            used[t, o] = model.new_bool_var("")
            size = end[t, o] - start[t, o]
            model.add(size >= op.get("min_duration", 0))
            if op.get("max_duration") is not None and not last:
                model.add(size <= op["max_duration"]).only_enforce_if(used[t, o])
            for held in op.get("resources", []):
                stop = model.new_int_var(0, 2 * horizon, "")
                span = model.new_int_var(0, 2 * horizon, "")
                model.add(stop == end[t, o] + held.get("release_time", 0))
                interval = model.new_optional_interval_var(
                    start[t, o], span, stop, used[t, o], "")
                holds.setdefault(held["resource"], {}).setdefault(t, []).append(interval)
        for o, op in enumerate(operations):
            arcs = []
            for n in op.get("successors", []):
                arc = model.new_bool_var("")
                model.add(end[t, o] == start[t, n]).only_enforce_if(arc)
                before[n].append(arc)
                arcs.append(arc)
            if arcs:
                model.add(sum(arcs) == used[t, o])
            else:
                model.add(used[t, o] == 1)
        for o in before:
            model.add(sum(before[o]) == used[t, o]) if before[o] else model.add(used[t, o] == 1)
    # A train is never in its own way, so its own intervals are not set against each other.
    for trains in holds.values():
        keys = list(trains)
        for a in range(len(keys)):
            for b in range(a + 1, len(keys)):
                for x in trains[keys[a]]:
                    for y in trains[keys[b]]:
                        model.add_no_overlap([x, y])
    ranks = {}
    for term in problem["objective"]:
        t, o = term["train"], term["operation"]
        late = model.new_int_var(0, horizon, "")
        model.add(late >= start[t, o] - term.get("threshold", 0)).only_enforce_if(used[t, o])
        cost = term.get("coeff", 0) * late
        if term.get("increment"):
            over = model.new_bool_var("")
            model.add(start[t, o] < term.get("threshold", 0)).only_enforce_if(~over)
            on = model.new_bool_var("")
            model.add_bool_or([on, ~over, ~used[t, o]])
            cost += term["increment"] * on
        ranks.setdefault(term.get("rank", 0), []).append(cost)
    begun = time.time()
    for rank in sorted(ranks):
        total = sum(ranks[rank])
        model.minimize(total)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.max_time_in_seconds = limit
        status = solver.solve(model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            print(f"rank {rank}: {solver.status_name(status)} after {time.time() - begun:.1f} s")
            return
        value = int(solver.objective_value)
        print(f"rank {rank}: {value}, at least {solver.best_objective_bound:.0f}, {time.time() - begun:.1f} s")
        model.add(total <= value)


main()
