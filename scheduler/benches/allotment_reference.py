#!/usr/bin/env python3
"""Compares the allotment with a general optimiser (HiGHS) on random farms and its costs with SciPy, and times both on one
large farm.

    pip install -r scheduler/benches/requirements.txt
    cargo build --release -p scheduler --example allotment_instances
    python scheduler/benches/allotment_reference.py PATH/TO/allotment_instances --sample 1000 [--speed]

Checks, each on `--sample` farms (exit status 1 when one fails):
  shares    exact max-min shares against staged linear programs, to 1e-6 of the share; awards to 1 g
  packs     awards in 250 g packs against the same shares: to one pack, or to two where packs of one crop meet swaps
  minimums  share-outs with smallest useful amounts, several crops and days: claims served against the most that fair
            shares can serve (every set tried) and the most any plan could (a mixed-integer bound); gap below 1 %
  single    the same for one shortage and equal weights, against the exact optimum with fairness: must be equal
  costs     promise level, best quantity and what to expect of it from two costs, against SciPy's normal distribution: to 1e-9
            of the mean

--speed runs both on the same 10,000 lines and 500 lots in one run: the whole share-out here, and the same max-min vector by HiGHS,
stage after stage, each from the last one's basis, for at most --cap seconds; then this library alone on ten and a hundred times as
many lines.
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
from scipy.stats import norm


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


def check_costs(program, count):
    worst = 0.0
    for case in instances(program, "newsvendor", count):
        mean, sd, under, over = case["mean"], case["sd"], case["under"], case["over"]
        ratio = under / (under + over)
        worst = max(worst, abs(case["level"] - ratio))
        for quantity, found in [(norm.ppf(ratio, mean, sd), case["best"]), (case["chosen"][0], case["chosen"])]:
            z = (quantity - mean) / sd
            lost = sd * (norm.pdf(z) - z * norm.sf(z))
            sales, left = mean - lost, quantity - mean + lost
            expected = [quantity, lost, sales, left, under * sales - over * left]
            worst = max(worst, np.max(np.abs(np.array(found[:5]) - expected)) / (mean * max(1, under, over)))
            worst = max(worst, abs(found[5] - norm.cdf(z)))
    print(f"costs: {count} cases, largest difference from SciPy {worst:.2e}")
    return worst < 1e-9


class Staged:
    """The max-min vector of a large farm by HiGHS: raise the common level as far as it goes, freeze who cannot rise (a positive
    dual value) or has all that was asked, go on from the basis that is there."""

    def __init__(self, farm):
        self.farm = farm
        claim_of, lot_of = flow_matrices(farm)
        self.count, self.lots, self.arcs = len(farm["asks"]), len(farm["lots"]), len(claim_of)
        self.weights, self.asks = np.array(farm["weights"], float), np.array(farm["asks"], float)
        self.frozen = np.full(self.count, np.nan)
        self.frozen[[not lots for lots in farm["arcs"]]] = 0
        self.seconds, self.stages = 0.0, 0
        self.solver = highspy.Highs()
        self.solver.setOptionValue("output_flag", False)
        self.solver.passModel(self.first_program(claim_of, lot_of))

    def first_program(self, claim_of, lot_of):
        program, arcs = highspy.HighsLp(), self.arcs
        program.num_col_, program.num_row_ = arcs + 1, self.lots + self.count
        program.col_cost_ = np.append(np.zeros(arcs), -1.0)
        program.col_lower_ = np.zeros(arcs + 1)
        program.col_upper_ = np.append(np.full(arcs, highspy.kHighsInf), self.next_whole())
        # What each lot gives is at most the lot; what each claim gets is at least its weight times the level.
        program.row_lower_ = np.append(np.full(self.lots, -highspy.kHighsInf), np.zeros(self.count))
        program.row_upper_ = np.append(np.array(self.farm["lots"], float), np.full(self.count, highspy.kHighsInf))
        rising = np.flatnonzero(np.isnan(self.frozen))
        columns = np.concatenate([np.arange(arcs), np.arange(arcs), np.full(len(rising), arcs)])
        rows = np.concatenate([lot_of, self.lots + claim_of, self.lots + rising])
        values = np.concatenate([np.ones(2 * arcs), -self.weights[rising]])
        matrix = coo_matrix((values, (rows, columns)), shape=(self.lots + self.count, arcs + 1)).tocsc()
        program.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        program.a_matrix_.start_, program.a_matrix_.index_ = matrix.indptr, matrix.indices
        program.a_matrix_.value_ = matrix.data
        return program

    def next_whole(self):
        """The level at which the next claim has all it asked for."""
        rising = np.isnan(self.frozen)
        return np.min(self.asks[rising] / self.weights[rising])

    def is_done(self):
        return not np.isnan(self.frozen).any()

    def stage(self):
        whole_at = self.next_whole()
        self.solver.changeColBounds(self.arcs, 0, whole_at)
        start = time.perf_counter()
        self.solver.run()
        self.seconds += time.perf_counter() - start
        self.stages += 1
        assert self.solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
        level = -self.solver.getInfo().objective_function_value
        rising = np.isnan(self.frozen)
        stopped = rising & (self.asks <= self.weights * level * (1 + 1e-9))
        if level < whole_at * (1 - 1e-9):
            duals = np.abs(np.array(self.solver.getSolution().row_dual)[self.lots :])
            stopped |= rising & (duals > 1e-9)
        assert stopped.any(), "some claim cannot rise"
        for claim in np.flatnonzero(stopped):
            self.frozen[claim] = min(self.asks[claim], self.weights[claim] * level)
            self.solver.changeCoeff(self.lots + claim, self.arcs, 0.0)
            # A hair less, so that rounding never makes the next program infeasible.
            self.solver.changeRowBounds(self.lots + claim, self.frozen[claim] * (1 - 1e-9), highspy.kHighsInf)


def run_speed(program, largest, cap):
    with tempfile.NamedTemporaryFile(suffix=".json") as file:
        command = [program, "speed", "10000", "500", file.name]
        ours = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
        farm = json.load(open(file.name))
    print("allotment, whole share-out:", ours)
    staged = Staged(farm)
    first = None
    while not staged.is_done() and staged.seconds < cap:
        staged.stage()
        first = first or staged.seconds
    ratio = staged.seconds / ours["median_seconds"]
    print(f"HiGHS, {staged.arcs} arcs: first stage {first:.2f} s, {staged.stages} stages {staged.seconds:.1f} s")
    if staged.is_done():
        worst = np.max(np.abs(staged.frozen - np.array(farm["shares"])))
        print(f"HiGHS, the same max-min vector to {worst:.3f} g: ratio {ratio:.0f}")
    else:
        settled = int((~np.isnan(staged.frozen)).sum())
        worst = np.nanmax(np.abs(staged.frozen - np.array(farm["shares"])))
        print(f"HiGHS stopped with {settled} of {staged.count} claims settled, those alike to {worst:.3f} g: ratio at least {ratio:.0f}")
    lines = 10_000
    while lines <= largest:
        command = [program, "speed", str(lines), "500"]
        print(subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip())
        lines *= 10
    return ratio >= 50 and worst < 1.0


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program", help="the built allotment_instances example")
    parser.add_argument("--sample", type=int, default=100, help="farms a check (default 100)")
    parser.add_argument("--speed", action="store_true", help="also time a large farm")
    parser.add_argument("--cap", type=float, default=300, help="seconds HiGHS may take on the large farm (default 300)")
    parser.add_argument("--largest", type=int, default=1_000_000, help="lines of the largest farm timed")
    given = parser.parse_args()
    checks = [check_shares, check_packs, check_minimums, check_single, check_costs]
    passed = [check(given.program, given.sample) for check in checks]
    if given.speed:
        passed.append(run_speed(given.program, given.largest, given.cap))
    sys.exit(0 if all(passed) else 1)


if __name__ == "__main__":
    main()
