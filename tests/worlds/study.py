"""Is anybody called better who is not, in worlds that are not ours? ``make worlds-study``

``python -m tests.worlds.study`` writes ``results.csv`` and ``results.md`` beside this file (some minutes on one core);
``--campaigns 400 --out DIR`` for a quick look. Each cell (:mod:`tests.worlds.cells`) is flown in every world, with
propellers that are alike unless the cell says otherwise, through reduction, comparison and verdict. Per cell: how often
one is called better, the share of 95 % intervals that hold the truth, in all worlds and in the worst one; the width
against that of somebody who knows the scatter; and the power to find a real difference against the best standard
method that keeps to 95 % on the same runs.
"""

from __future__ import annotations

import argparse
import csv
from pathlib import Path

import numpy as np

from samesky.inference import verdict
from tests.worlds import one_by_one
from tests.worlds.campaigns import Cell, campaign_of, flown, judge, truth
from tests.worlds.cells import CELLS
from tests.worlds.corrections import WORLDS
from tests.worlds.standard import all_of

CAMPAIGNS, SEED = 2400, 20_260_714
#: At most 64 of 1,000 are called better: 5 % and two standard errors of 1,000, more of them where fewer are flown.
CALLED, SPARE = 0.05, 0.014
#: Coverage of the 95 % interval: where all is estimated, and where an entered size or a ceiling takes part.
LOW, HIGH = 0.94, 0.975
#: The least share of the best standard method's power.
POWER = 0.9
#: A real difference whose finding is counted, by measure, as a share.
REAL = {"takeoff_roll": 0.10, "timed_climb": 0.05, "static_pull": 0.03, "level_speed": 0.02}
#: Cells that are judged one by one, a fifth of the campaigns each.
ALONE = (*one_by_one.THREE, *one_by_one.KINDS)
COLUMNS = (
    "cell", "measure", "letters", "design", "campaigns", "called_better", "worst_world", "worst_called", "coverage",
    "worst_coverage", "half_width", "oracle", "power", "best_method", "best_power", "honest", "entered", "verdict",
)  # fmt: skip


def fly(cell: Cell, campaigns: int, seed: int, worlds=WORLDS) -> list[dict]:
    """One row for each measure of a cell."""
    each = -(-campaigns // len(worlds))
    gathered: dict[str, list[dict]] = {measure: [] for measure in cell.measures}
    for world, chances in zip(worlds.values(), np.random.SeedSequence(seed).spawn(len(worlds)), strict=True):
        tables = flown(world, cell, each, np.random.default_rng(chances))
        campaign = campaign_of(world, cell, tables)
        for measure in cell.measures:
            gathered[measure].append(_of_world(world, cell, measure, campaign, tables))
    return [_row(cell, measure, parts, list(worlds)) for measure, parts in gathered.items()]


def _of_world(world, cell, measure, campaign, tables) -> dict:
    """What came of one world: arrays (campaigns,), differences as shares."""
    found = judge(campaign, measure, tables[measure])
    level = 1.0 if found.ratio else found.reduced.mean()
    low, high = (end / level for end in found.estimate.interval(0.95))
    known = np.isfinite(low)
    true = truth(world, cell, measure, campaign) / level
    better = np.isin(found.code, (verdict.OTHER_BETTER, verdict.BASELINE_BETTER))
    if cell.better:
        up = found.code == (verdict.OTHER_BETTER if (true > 0) == found.larger else verdict.BASELINE_BETTER)
        better &= ~up
    ends = {"Same Sky": (low - true, high - true)}
    for name, (difference, half) in all_of(found.reduced / level, cell.order).items():
        ends[name] = (difference - half - true, difference + half - true)
    shift = REAL[measure]
    return {
        "design": found.design,
        "better": better,
        "holds": np.where(known, (low <= true) & (true <= high), True),
        "half": np.where(known, 0.5 * (high - low), np.inf),
        "error": found.estimate.difference / level - true,
        "covers": {name: (lo <= 0) & (hi >= 0) for name, (lo, hi) in ends.items()},
        "finds": {name: 0.5 * ((lo > -shift) + 1.0 * (hi < shift)) for name, (lo, hi) in ends.items()},
    }


def _row(cell: Cell, measure: str, parts: list[dict], worlds: list[str]) -> dict:
    better = [part["better"].mean() for part in parts]
    holds = [part["holds"].mean() for part in parts]
    count = sum(part["better"].size for part in parts)
    mean = {
        key: {name: np.concatenate([part[key][name] for part in parts]).mean() for name in parts[0][key]}
        for key in ("covers", "finds")
    }
    return {
        "cell": cell.name,
        "measure": measure,
        "letters": cell.letters,
        "design": parts[0]["design"],
        "campaigns": count,
        "called_better": float(np.mean(better)),
        "worst_world": worlds[int(np.argmax(better))],
        "worst_called": float(np.max(better)),
        "coverage": float(np.mean(holds)),
        "worst_coverage": float(np.min(holds)),
        "half_width": float(np.median(np.concatenate([part["half"] for part in parts]))),
        "oracle": 1.96 * float(np.sqrt(np.mean([part["error"].var() for part in parts]))),
        "power": float(mean["finds"]["Same Sky"]),
        "honest": int(cell.honest),
        "entered": int(cell.entered),
        "alike": cell.alike,
        "standard": {
            name: (mean["covers"][name], power) for name, power in mean["finds"].items() if name != "Same Sky"
        },
    }


def with_best(rows: list[dict]) -> list[dict]:
    """The rows with the best standard method of each, and the verdict.

    Best is the method of the most power among those that hold the truth in 95 of 100 in every cell of the same order
    and measure whose conditions are alike: who chooses a method does not know which drift the day has in store.
    """
    lowest: dict[tuple, float] = {}
    for row in rows:
        room = 2.0 * np.sqrt(0.05 * 0.95 / row["campaigns"])
        for name, (covers, _) in row.get("standard", {}).items():
            key = (row["letters"], row["measure"], name)
            if row["alike"]:
                lowest[key] = min(lowest.get(key, 1.0), covers + room)
    found = []
    for row in rows:
        sound = {
            name: power
            for name, (_, power) in row.get("standard", {}).items()
            if row["alike"] and lowest[row["letters"], row["measure"], name] >= 0.95
        }
        best = max(sound, key=sound.get, default="")
        own = {key: value for key, value in row.items() if key not in ("standard", "alike")}
        own |= {"best_method": best, "best_power": float(sound[best]) if best else float("nan")}
        found.append(own | {"verdict": verdict_of(own)})
    return found


def one_line(row) -> str:
    """A row as it is told while the study runs."""
    return (
        f"{row['cell']:34s} {row['measure']:13s} better {100 * row['called_better']:5.1f} % (worst "
        f"{100 * row['worst_called']:5.1f} % {row['worst_world']}), holds {100 * row['coverage']:5.1f} %, half "
        f"{100 * row['half_width']:5.2f} % ({100 * row['oracle']:.2f}), finds {100 * row['power']:3.0f}"
    )


def verdict_of(row) -> str:
    """What a cell comes to, with room for the Monte Carlo error (two of it, where the goal is a share of the many)."""
    room = 2.0 * np.sqrt(0.05 * 0.95 / row["campaigns"])
    if row["called_better"] > CALLED + SPARE * max(1.0, np.sqrt(1000.0 / row["campaigns"])):
        return "false winners"
    if row["coverage"] < LOW - room:
        return "too narrow"
    if not row["entered"] and row["honest"] and row["coverage"] > HIGH + room:
        return "too wide"
    if row["honest"] and row["best_power"] >= 0.1 and row["power"] < POWER * row["best_power"] - room:
        return "weak"
    return "holds"


def study(campaigns: int = CAMPAIGNS, seed: int = SEED, cells=(*CELLS, *ALONE), says=print) -> list[dict]:
    """Every cell; rows in a fixed order."""
    rows = []
    for cell in cells:
        number = (*CELLS, *ALONE).index(cell)  # a cell has its chances whatever else is flown
        if cell in ALONE:
            found = one_by_one.fly(cell, campaigns // 5, seed + number)
        else:
            found = fly(cell, campaigns, seed + number)
        for row in found:
            says(one_line(row), flush=True)
        rows += found
    return with_best(rows)


def write(rows, place: Path) -> None:
    """``results.csv`` and a copy to read."""
    rows = [{key: round(value, 4) if isinstance(value, float) else value for key, value in row.items()} for row in rows]
    with open(place / "results.csv", "w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, COLUMNS, lineterminator="\n")
        writer.writeheader()
        for row in rows:
            writer.writerow({key: f"{value:.4f}" if isinstance(value, float) else value for key, value in row.items()})
    (place / "results.md").write_text(in_words(rows), encoding="utf-8")


def in_words(rows) -> str:
    """The table to read."""
    count = rows[0]["campaigns"]
    error = 100 * np.sqrt(0.05 * 0.95 / count)
    real = ", ".join(f"{100 * share:.0f} % of {measure}" for measure, share in REAL.items())
    said = [
        f"Two propellers that are alike, flown by {len(WORLDS)} aeroplanes that are not the package's own, {count} "
        f"campaigns a cell (a share of 5 % is good to {error:.1f} %), a fifth where several configurations or "
        "kinds of flying are judged. In per cent: how often one is called better, in all worlds and in the worst; how "
        "often the 95 % interval holds the truth; its half width, and that of somebody who knows the scatter; how "
        f"often a real difference is found ({real}), and how often the best standard method finds it, of those that "
        "hold the truth in 95 of 100 in every cell of that order whose conditions are alike.",
        "",
        "| campaign | measure | better | worst world | holds | half width | known scatter | finds | standard | |",
        "| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | --- | --- |",
    ]
    for row in rows:
        best = f"{100 * row['best_power']:.0f} {row['best_method']}" if row["best_method"] else ""
        shown = [_per_cent(row[key], 1) for key in ("called_better", "worst_called", "coverage")]
        shown += [_per_cent(row["half_width"], 2), _per_cent(row["oracle"], 2), _per_cent(row["power"], 0), best]
        shown.append(row["verdict"])
        said.append(f"| {row['cell']} | {row['measure']} | " + " | ".join(shown) + " |")
    counts = {word: sum(row["verdict"] == word for row in rows) for word in dict.fromkeys(r["verdict"] for r in rows)}
    said += ["", "Cells: " + ", ".join(f"{number} {word}" for word, number in counts.items()) + ".", ""]
    return "\n".join(said)


def _per_cent(share: float, digits: int) -> str:
    return "" if np.isnan(share) else f"{100 * share:.{digits}f}" if np.isfinite(share) else "no interval"


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--campaigns", type=int, default=CAMPAIGNS)
    parser.add_argument("--only", default="", help="cells whose name holds this")
    parser.add_argument("--out", type=Path, default=Path(__file__).parent)
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    write(study(given.campaigns, cells=[cell for cell in (*CELLS, *ALONE) if given.only in cell.name]), given.out)
