"""Does every printed interval hold what it says? Orders x runs a side x skies, each cell some thousand campaigns.

``python -m tests.coverage.study`` writes ``results.csv`` and ``results.md`` beside this file (a few minutes on one
core); ``--campaigns 400 --out DIR`` for a quick look. Each cell flies an aeroplane with known truth through the whole
way from sky to verdict, in memory, with the shipped error sources as the stated ones. Per cell: the share of 95 %
intervals that hold the truth; how often "better" is said where there is no difference; how often "no difference that
matters" is said of a difference exactly as large as matters, taken as four times the true scatter of the difference so
that the claim is within reach.
"""

from __future__ import annotations

import argparse
import csv
from pathlib import Path

import numpy as np

from samesky.inference import verdict
from samesky.rehearsal.flight import judged, ready, true_on_scale, written
from samesky.rehearsal.scene import scene
from tests.coverage.orders import LETTERS, REFIT, RUNS, campaign, script
from tests.coverage.skies import SKIES, under
from tests.coverage.three_runs import three_runs

CAMPAIGNS, SEED, CHUNK = 4000, 20_260_611, 1000
#: Targets: coverage where the assumption holds; how often a warning fires where it does not.
LOW, HIGH, WARNED = 0.94, 0.97, 0.95
#: The smallest difference that matters, in true scatters of the difference.
MARGIN = 4.0
COLUMNS = (
    "order", "runs", "sky", "measure", "design", "campaigns", "holds", "coverage", "wrong_better",
    "wrong_no_difference", "half_width", "scatter", "readings_stand_in", "warned",
)  # fmt: skip


def cell(base, order: str, runs: int, sky: str, campaigns: int, seed: int) -> list[dict]:
    """One row for each measure."""
    stated = scene(script(base, order, runs))
    flown = under(stated, sky)
    prepared = ready(flown)
    gathered: dict[str, list[tuple[np.ndarray, ...]]] = {name: [] for name in prepared}
    for chunk in np.random.SeedSequence(seed).spawn(-(-campaigns // CHUNK)):
        columns = written(flown, min(CHUNK, campaigns), np.random.default_rng(chunk))
        for name, one in prepared.items():
            estimate, _ = judged(flown, name, one, columns[name])
            beside = estimate.widened, estimate.carried, bool(one.design.warnings), estimate.difference * 0
            warned = np.any(np.broadcast_arrays(*beside), axis=0)
            ends = *estimate.interval(0.95), *estimate.equivalence_interval(0.90)
            gathered[name].append((estimate.difference, *ends, estimate.floor_used, warned))
    return [
        _row(order, runs, sky, name, prepared[name].design.name, true_on_scale(flown, name),
             *map(np.concatenate, zip(*parts, strict=True)))
        for name, parts in gathered.items()
    ]  # fmt: skip


def _row(order, runs, sky, name, design, truth, difference, low, high, inner_low, inner_high, floor, warned) -> dict:
    sd = difference.std(ddof=1)
    none = verdict.judge((low - truth, high - truth), (inner_low, inner_high), -np.inf, np.inf, "larger")
    wins = np.isin(none, (verdict.TOO_SMALL, verdict.OTHER_BETTER, verdict.BASELINE_BETTER))
    # A difference exactly as large as matters: the same intervals, moved; the estimate moves with the runs.
    margin = MARGIN * sd
    moved = margin - truth
    edge = verdict.judge(
        (low + moved, high + moved), (inner_low + moved, inner_high + moved), -margin, margin, "larger"
    )
    known = np.isfinite(low)
    return {
        "order": order,
        "runs": runs,
        "sky": sky,
        "measure": name,
        "design": design,
        "campaigns": difference.size,
        "holds": int(order not in SKIES[sky].breaks),
        "coverage": np.mean((low <= truth)[known] & (truth <= high)[known]) if known.any() else np.nan,
        "wrong_better": wins.mean(),
        "wrong_no_difference": np.isin(edge, (verdict.NO_DIFFERENCE, verdict.TOO_SMALL)).mean(),
        "half_width": float(np.median(0.5 * (high - low)[known])) if known.any() else np.nan,
        "scatter": sd,
        "readings_stand_in": floor.mean(),
        "warned": warned.mean(),
    }


def study(
    campaigns: int = CAMPAIGNS, seed: int = SEED, orders=tuple(LETTERS), runs=RUNS, skies=tuple(SKIES), says=print
):
    """Every cell; rows in a fixed order."""
    base, rows = campaign(), []
    for k, order in enumerate(orders):
        for n in runs:
            for j, sky in enumerate(skies):
                if SKIES[sky].refit_only and order not in REFIT:
                    continue
                rows += cell(base, order, n, sky, campaigns, seed + 10_000 * k + 100 * n + j)
        says(f"{order}: {len(rows)} rows")
    return rows


def verdict_of(row) -> str:
    """What a cell comes to, in a word, with room for the Monte Carlo error of its coverage (two of them)."""
    room = 2.0 * np.sqrt(0.05 * 0.95 / row["campaigns"])
    if row["coverage"] >= LOW - room:
        return "wide" if row["coverage"] > HIGH + room else "holds"
    return "warned" if not row["holds"] and row["warned"] >= WARNED else "misses"


def write(rows, place: Path) -> None:
    """``results.csv`` and a copy to read."""
    with open(place / "results.csv", "w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, (*COLUMNS, "verdict"), lineterminator="\n")
        writer.writeheader()
        for row in rows:
            shown = {key: f"{value:.4f}" if isinstance(value, float) else value for key, value in row.items()}
            writer.writerow(shown | {"verdict": verdict_of(row)})
    (place / "results.md").write_text(in_words(rows) + "\n" + three_runs(rows[0]["campaigns"], SEED), encoding="utf-8")


def in_words(rows) -> str:
    """The coverage as a table of orders and skies, and the worst cells."""
    said = [
        f"Coverage of the 95 % interval in per cent ({rows[0]['campaigns']} campaigns a cell, so good to about "
        f"{100 * 2 * np.sqrt(0.0475 / rows[0]['campaigns']):.1f}), for 3, 4, 6 and 8 runs a side. *: the printed "
        "assumption excludes this sky, and a warning is printed in at least 95 of 100 campaigns; !: excluded, but "
        "warned of less often.",
        "",
    ]
    for measure in dict.fromkeys(row["measure"] for row in rows):
        orders = list(dict.fromkeys(row["order"] for row in rows))
        said += [f"| {measure} | " + " | ".join(orders) + " |", "| --- |" + " ---: |" * len(orders)]
        for sky in dict.fromkeys(row["sky"] for row in rows):
            cells = []
            for order in orders:
                own = [r for r in rows if (r["measure"], r["sky"], r["order"]) == (measure, sky, order)]
                mark = "" if not own or own[0]["holds"] else "*" if min(r["warned"] for r in own) >= WARNED else "!"
                cells.append(" ".join(f"{100 * r['coverage']:.0f}" for r in own) + mark if own else "")
            said.append(f"| {sky} | " + " | ".join(cells) + " |")
        said.append("")
    counts = {word: sum(verdict_of(row) == word for row in rows) for word in ("holds", "wide", "warned", "misses")}
    said += [
        f"Of {len(rows)} cells {counts['holds']} hold 94 to 97 %, {counts['wide']} cover more, {counts['warned']} "
        f"cover less and are warned of, {counts['misses']} miss. An interval covers more where what is stated is "
        "not there (drift, rigging or reading errors on a calm day): a statement is an upper bound.",
        "",
    ]
    return "\n".join(said)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--campaigns", type=int, default=CAMPAIGNS)
    parser.add_argument("--out", type=Path, default=Path(__file__).parent)
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    write(study(given.campaigns), given.out)
