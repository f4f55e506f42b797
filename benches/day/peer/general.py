"""The day's dispatching problem for a general constraint solver (CP-SAT of the package `ortools`).

    general.py PROBLEM.json SECONDS WORKERS

reads a problem as `day-bench export` writes it and prints one JSON object: for each rank of the objective
what was reached and what is proven, and the seconds it took. It makes no use of what a railroad is: an
interval for each operation that may be left out, an order for each two operations of different trains that
hold the same thing, and the ranks made small one after the other.
"""

import json
import sys
import time
from collections import defaultdict

from ortools.sat.python import cp_model


def main():
    path, seconds, workers = sys.argv[1], float(sys.argv[2]), int(sys.argv[3])
    began = time.monotonic()
    with open(path) as file:
        problem = json.load(file)
    model = cp_model.CpModel()
    horizon = 1
    for train in problem["trains"]:
        for op in train:
            horizon = max(horizon, op.get("start_lb", 0))
    horizon += 96 * 3600
    start, end, here = {}, {}, {}
    holds = defaultdict(list)
    for t, train in enumerate(problem["trains"]):
        before = defaultdict(list)
        for o, op in enumerate(train):
            late = op.get("start_ub")
            start[t, o] = model.new_int_var(op.get("start_lb", 0), horizon if late is None else late, "")
            end[t, o] = model.new_int_var(0, 2 * horizon, "")
            here[t, o] = model.new_bool_var("")
        for o, op in enumerate(train):
            after = []
            for s in op.get("successors", []):
                taken = model.new_bool_var("")
                after.append(taken)
                before[s].append(taken)
                model.add(end[t, o] == start[t, s]).only_enforce_if(taken)
            if after:
                model.add(sum(after) == here[t, o])
                model.add(end[t, o] - start[t, o] >= op.get("min_duration", 0)).only_enforce_if(here[t, o])
                if op.get("max_duration") is not None:
                    model.add(end[t, o] - start[t, o] <= op["max_duration"]).only_enforce_if(here[t, o])
            else:
                # The last operation never ends.
                model.add(end[t, o] == 2 * horizon)
            for used in op.get("resources", []):
                holds[used["resource"]].append((t, o, used.get("release_time", 0)))
        for o in range(len(train)):
            model.add((sum(before[o]) if before[o] else 1) == here[t, o])
    for users in holds.values():
        for i, (t, o, release) in enumerate(users):
            for u, p, other in users[i + 1 :]:
                if t == u:
                    continue
                first = model.new_bool_var("")
                both = [here[t, o], here[u, p]]
                model.add(start[u, p] >= end[t, o] + release).only_enforce_if(both + [first])
                model.add(start[t, o] >= end[u, p] + other).only_enforce_if(both + [first.negated()])
    ranks = defaultdict(list)
    for term in problem["objective"]:
        key = term["train"], term["operation"]
        threshold = term.get("threshold", 0)
        cost = []
        if term.get("coeff", 0):
            late = model.new_int_var(0, horizon, "")
            model.add(late >= start[key] - threshold).only_enforce_if(here[key])
            cost.append(term["coeff"] * late)
        if term.get("increment", 0):
            step = model.new_bool_var("")
            model.add(start[key] < threshold).only_enforce_if([here[key], step.negated()])
            cost.append(term["increment"] * step)
        ranks[term.get("rank", 0)] += cost
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = 1
    reached, proven = [], []
    for rank in sorted(ranks):
        left = seconds - (time.monotonic() - began)
        if left <= 0:
            break
        solver.parameters.max_time_in_seconds = left
        total = sum(ranks[rank])
        model.minimize(total)
        status = solver.solve(model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            break
        reached.append(round(solver.objective_value))
        proven.append(round(solver.best_objective_bound))
        model.add(total <= reached[-1])
        model.clear_hints()
        for var in [*start.values(), *end.values(), *here.values()]:
            model.add_hint(var, solver.value(var))
        if status != cp_model.OPTIMAL:
            break
    json.dump({"reached": reached, "proven": proven, "seconds": time.monotonic() - began}, sys.stdout)


main()
