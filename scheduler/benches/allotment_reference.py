#!/usr/bin/env python3
"""Compares the allotment with a general optimiser (HiGHS) on random farms, and times both on one large farm.

    pip install scipy highspy
    cargo build --release -p scheduler --example allotment_instances
    python scheduler/benches/allotment_reference.py PATH/TO/allotment_instances --sample 1000 [--speed]

Checks, each on `--sample` farms (exit status 1 when one fails):
  shares    exact max-min shares against staged linear programs, to 1e-6 of the share; awards to 1 g
  packs     awards in 250 g packs against the same shares: to one pack, or to two where packs of one crop meet swaps
  minimums  share-outs with smallest useful amounts, several crops and days: claims served against the most that fair
            shares can serve (every set tried) and the most any plan could (a mixed-integer bound); gap below 1 %
  single    the same for one shortage and equal weights, against the exact optimum with fairness: must be equal
"""

import argparse
import json
import subprocess
import sys
import tempfile
import time

import highspy
import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import coo_matrix


def instances(program, kind, count):
    text = subprocess.run([program, kind, str(count)], check=True, capture_output=True, text=True).stdout
    return [json.loads(line) for line in text.splitlines()]


def flow_matrices(farm):
    """(claim of each arc, lot of each arc)"""
    claims = [claim for claim, lots in enumerate(farm["arcs"]) for _ in lots]
    lots = [lot for lots in farm["arcs"] for lot in lots]
    return np.array(claims, dtype=int), np.array(lots, dtype=int)


def staged_max_min(farm):
    """Raise the lowest level, find who cannot rise above it, freeze them, repeat."""
    claim_of, lot_of = flow_matrices(farm)
    count, arcs = len(farm["asks"]), len(claim_of)
    asks, weights = np.array(farm["asks"], float), np.array(farm["weights"], float)
    frozen = np.full(count, np.nan)
    used = coo_matrix((np.ones(arcs), (lot_of, np.arange(arcs))), shape=(len(farm["lots"]), arcs + 1)).tocsr()
    drawn = coo_matrix((np.ones(arcs), (claim_of, np.arange(arcs))), shape=(count, arcs + 1)).tocsr()
    while np.isnan(frozen).any():
        open_ = np.isnan(frozen)
        # drawn_i = frozen_i for the frozen; drawn_i >= weight_i * level for the others, at most the ask.
        rising = drawn[open_].tolil()
        rising[:, arcs] = -weights[open_][:, None]
        upper = np.concatenate([np.full(arcs, np.inf), [np.min(asks[open_] / weights[open_])]])
        fixed = drawn[~open_] if (~open_).any() else None
        rows = [(used, np.array(farm["lots"], float)), (-rising.tocsr(), np.zeros(open_.sum())), (drawn, asks)]
        a_ub = np.vstack([matrix.toarray() for matrix, _ in rows])
        b_ub = np.concatenate([bound for _, bound in rows])
        cost = np.zeros(arcs + 1)
        cost[arcs] = -1
        common = dict(bounds=list(zip(np.zeros(arcs + 1), upper)), method="highs")
        if fixed is not None:
            common |= dict(A_eq=fixed.toarray(), b_eq=frozen[~open_])
        result = linprog(cost, A_ub=a_ub, b_ub=b_ub, **common)
        assert result.status == 0, result.message
        level = result.x[arcs]
        # One more program each: who can rise while the others keep the level?
        common["bounds"] = list(zip(np.append(np.zeros(arcs), level - 1e-9), np.append(np.full(arcs, np.inf), level)))
        newly = []
        for claim in np.flatnonzero(open_):
            target = weights[claim] * level
            if target >= asks[claim] - 1e-7:
                newly.append(claim)
                continue
            single = np.append(np.where(claim_of == claim, -1.0, 0.0), 0)
            best = linprog(single, A_ub=a_ub, b_ub=b_ub, **common)
            assert best.status == 0, best.message
            if -best.fun <= target + 1e-5:
                newly.append(claim)
        assert newly, "some claim cannot rise"
        for claim in newly:
            frozen[claim] = weights[claim] * level
    return frozen


def check_shares(program, count):
    worst_share, worst_gram = 0.0, 0.0
    for farm in instances(program, "shares", count):
        expected = staged_max_min(farm)
        shares, given = np.array(farm["shares"]), np.array(farm["given"])
        worst_share = max(worst_share, np.max(np.abs(shares - expected)))
        worst_gram = max(worst_gram, np.max(np.abs(given - expected)))
    print(f"shares: {count} farms, largest difference {worst_share:.2e} g (share), {worst_gram:.4f} g (award)")
    return worst_share < 1e-3 and worst_gram < 1 + 1e-3


def check_packs(program, count):
    worst, off = {True: 0.0, False: 0.0}, 0
    farms = instances(program, "packs", count)
    for farm in farms:
        packs = np.abs(np.array(farm["given"]) - staged_max_min(farm)) / np.array(farm["steps"])
        worst[farm["has_swaps"]] = max(worst[farm["has_swaps"]], np.max(packs))
        off += int((packs > 1 + 1e-6).sum())
    claims = sum(len(farm["asks"]) for farm in farms)
    print(f"packs: {count} farms, largest difference {worst[False]:.4f} packs without swaps, {worst[True]:.4f} with; "
          f"{off} of {claims} claims more than one pack off")
    return worst[False] <= 1 + 1e-6 and worst[True] <= 2 + 1e-6 and off <= claims / 100


def most_served(farm):
    """The most claims any plan serves with their minimum (1 g when any amount is welcome), fair or not."""
    claim_of, lot_of = flow_matrices(farm)
    count, arcs, lots = len(farm["asks"]), len(claim_of), len(farm["lots"])
    used = np.zeros((lots, arcs + count))
    used[lot_of, np.arange(arcs)] = 1
    drawn = np.zeros((count, arcs + count))
    drawn[claim_of, np.arange(arcs)] = 1
    least, most = drawn.copy(), drawn.copy()
    least[np.arange(count), arcs + np.arange(count)] = -np.maximum(farm["minimums"], 1)
    most[np.arange(count), arcs + np.arange(count)] = -np.array(farm["asks"], float)
    result = milp(
        np.append(np.zeros(arcs), -np.ones(count)),
        integrality=np.append(np.zeros(arcs), np.ones(count)),
        bounds=Bounds(0, np.append(np.full(arcs, np.inf), np.ones(count))),
        constraints=[
            LinearConstraint(used, -np.inf, farm["lots"]),
            LinearConstraint(least, 0, np.inf),
            LinearConstraint(most, -np.inf, 0),
        ],
    )
    assert result.status == 0, result.message
    return round(-result.fun)


def most_served_fairly(farm):
    """One lot, equal weights: the most claims served when all served get min(ask, level) and at least their minimum."""
    count, supply = len(farm["asks"]), float(farm["lots"][0])
    asks, least = np.array(farm["asks"], float), np.maximum(farm["minimums"], 1).astype(float)
    if not farm["arcs"][0]:
        return 0
    # Variables: award x, served z, "gets the whole ask" y, level l. big closes what z or y do not ask for.
    big = max(supply, asks.max()) + 1
    size = 3 * count + 1
    x, z, y, level = np.arange(count), count + np.arange(count), 2 * count + np.arange(count), 3 * count
    rows, low, high = [], [], []

    def add(entries, bottom, top):
        row = np.zeros(size)
        for column, value in entries:
            row[column] += value
        rows.append(row)
        low.append(bottom)
        high.append(top)

    for i in range(count):
        add([(x[i], 1), (z[i], -asks[i])], -np.inf, 0)
        add([(x[i], 1), (z[i], -least[i])], 0, np.inf)
        add([(x[i], 1), (level, -1)], -np.inf, 0)
        # served and not whole: x >= level; served and whole: x >= ask
        add([(x[i], 1), (level, -1), (z[i], -big), (y[i], big)], -big, np.inf)
        add([(x[i], 1), (y[i], -asks[i])], 0, np.inf)
        add([(y[i], 1), (z[i], -1)], -np.inf, 0)
    add([(column, 1) for column in x], -np.inf, supply)
    result = milp(
        np.concatenate([np.zeros(count), -np.ones(count), np.zeros(count + 1)]),
        integrality=np.concatenate([np.zeros(count), np.ones(2 * count), [0]]),
        bounds=Bounds(0, np.concatenate([np.full(count, np.inf), np.ones(2 * count), [big]])),
        constraints=LinearConstraint(np.array(rows), low, high),
    )
    assert result.status == 0, result.message
    return round(-result.fun)


def check_minimums(program, count):
    ours_all = fair_all = bound_all = worse = 0
    for farm in instances(program, "minimums", count):
        ours, fair, bound = sum(grams > 0 for grams in farm["given"]), farm["most_served_fairly"], most_served(farm)
        assert ours <= bound and fair <= bound, (ours, fair, bound)
        # Idle grams may serve one that equal awards would not; it does not make up for one missed elsewhere.
        ours_all, fair_all, bound_all = ours_all + min(ours, fair), fair_all + fair, bound_all + bound
        worse += ours < fair
    gap = 1 - ours_all / max(fair_all, 1)
    print(f"minimums: {count} farms, {ours_all} claims served of at most {fair_all} with fair shares (gap {gap:.2%}, fewer on "
          f"{worse} farms); a plan without fairness could serve {bound_all}")
    return gap < 0.01


def check_single(program, count):
    worse = better = claims = 0
    for farm in instances(program, "single", count):
        ours, best = sum(grams > 0 for grams in farm["given"]), most_served_fairly(farm)
        # Idle grams may serve one more than strict equal awards would; fewer would be a fault.
        worse, better, claims = worse + (ours < best), better + (ours > best), claims + len(farm["asks"])
    print(f"single: {count} farms, {claims} claims, fewer served than the optimum on {worse} farms, more on {better}")
    return worse == 0


def first_stage_seconds(farm):
    """HiGHS's time for the first of the staged programs only: the level of the lowest."""
    claim_of, lot_of = flow_matrices(farm)
    count, lots, arcs = len(farm["asks"]), len(farm["lots"]), len(claim_of)
    weights = np.array(farm["weights"], float)
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    program = highspy.HighsLp()
    program.num_col_, program.num_row_ = arcs + 1, lots + count
    program.col_cost_ = np.append(np.zeros(arcs), -1.0)
    program.col_lower_ = np.zeros(arcs + 1)
    served = np.array([bool(lots_) for lots_ in farm["arcs"]])
    program.col_upper_ = np.append(np.full(arcs, highspy.kHighsInf), np.min(np.array(farm["asks"]) / weights))
    program.row_lower_ = np.append(np.full(lots, -highspy.kHighsInf), np.zeros(count))
    program.row_upper_ = np.append(np.array(farm["lots"], float), np.array(farm["asks"], float))
    columns = np.concatenate([np.arange(arcs), np.arange(arcs), np.full(served.sum(), arcs)])
    rows = np.concatenate([lot_of, lots + claim_of, lots + np.flatnonzero(served)])
    values = np.concatenate([np.ones(2 * arcs), -weights[served]])
    matrix = coo_matrix((values, (rows, columns)), shape=(lots + count, arcs + 1)).tocsc()
    program.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    program.a_matrix_.start_, program.a_matrix_.index_ = matrix.indptr, matrix.indices
    program.a_matrix_.value_ = matrix.data
    solver.passModel(program)
    start = time.perf_counter()
    solver.run()
    seconds = time.perf_counter() - start
    assert solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return seconds, arcs, -solver.getInfo().objective_function_value


def most_shared_seconds(farm):
    """HiGHS's time to place the most grams, with no fairness at all: a much smaller task, as a floor."""
    claim_of, lot_of = flow_matrices(farm)
    arcs = len(claim_of)
    rows = np.concatenate([lot_of, len(farm["lots"]) + claim_of])
    matrix = coo_matrix((np.ones(2 * arcs), (rows, np.tile(np.arange(arcs), 2)))).tocsr()
    bounds = np.concatenate([farm["lots"], farm["asks"]])[: matrix.shape[0]]
    start = time.perf_counter()
    result = linprog(-np.ones(arcs), A_ub=matrix, b_ub=bounds, method="highs")
    assert result.status == 0, result.message
    return time.perf_counter() - start, -result.fun


def run_speed(program, largest):
    with tempfile.NamedTemporaryFile(suffix=".json") as file:
        ours = json.loads(subprocess.run([program, "speed", "10000", "500", file.name], check=True, capture_output=True, text=True).stdout)
        farm = json.load(open(file.name))
    print("allotment, whole share-out:", ours)
    seconds, total = most_shared_seconds(farm)
    print(f"HiGHS, most grams without fairness: {seconds:.3f} s, {total:.0f} g; allotment gave {sum(farm['given'])} g; ratio {seconds / ours['median_seconds']:.0f}")
    seconds, arcs, level = first_stage_seconds(farm)
    print(f"HiGHS, first fairness stage only, {arcs} arcs: {seconds:.3f} s (level {level:.3f}); ratio {seconds / ours['median_seconds']:.0f}")
    lines = 10_000
    while lines <= largest:
        print(subprocess.run([program, "speed", str(lines), "500"], check=True, capture_output=True, text=True).stdout.strip())
        lines *= 10


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program", help="the built allotment_instances example")
    parser.add_argument("--sample", type=int, default=100, help="farms a check (default 100)")
    parser.add_argument("--speed", action="store_true", help="also time a large farm")
    parser.add_argument("--largest", type=int, default=1_000_000, help="lines of the largest farm timed")
    given = parser.parse_args()
    checks = [check_shares, check_packs, check_minimums, check_single]
    passed = [check(given.program, given.sample) for check in checks]
    if given.speed:
        run_speed(given.program, given.largest)
    sys.exit(0 if all(passed) else 1)


if __name__ == "__main__":
    main()
