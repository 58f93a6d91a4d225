"""Every printed statistics row is either reproduced by this room or listed with the reason why not."""

import numpy as np
import printed_models
import printed_planning
import printed_samples
import pytest

from samesky.published.registry import check, rows

COMPUTED = printed_samples.COMPUTED | printed_models.COMPUTED | printed_planning.COMPUTED

#: Certified to 15 digits, also where fewer are printed; what double precision can reach is fewer. Agreeing digits
#: asked, by the row's beginning.
DIGITS = {
    "REG-Filip": 7.3,
    "REG-Longley": 11,
    "REG-Wampler5-B": 5.5,
    "REG-Wampler4-B": 7.3,
    "REG-Wampler3-B": 9,
    "REG-Wampler1-B": 10,
    "REG-": 12,
    "AOV-SmLs07": 4,
    "AOV-SmLs04": 10,
    "AOV-AtmWtAg": 9.5,
    "AOV-": 12,
    "UNI-NumAcc4": 8,
    "UNI-NumAcc3": 9,
    "UNI-": 13,
    "SST-2": 12,  # printed cut off after twelve places
    "LDOF-2": 4.4,  # printed from the coarse grid of an early program: the row's note; within 1.1e-4
    "LDPO-3": 4.4,
    "LDPO-5": 4.4,
}

#: Rows that print a whole number, or a fraction in full, because that is what they are: nothing was rounded.
EXACT = ("ORD-", "MINU-3", "CH4-Y", "SHO-7", "SHO-8", "CT5_", "UNI-NumAcc1")

#: Rows that nothing here computes, by the row's beginning.
REASONS = {
    "SLP-4": "Student truncated the fourth digit instead of rounding it",
    "ZEA-1": "signed ranks are not offered: they throw the size away and have the floor of the sign flip",
    "HW-": "signed ranks and rank sums are not offered",
    "WSR": "signed ranks are not offered",
    "MWU": "rank sums are not offered",
    "BP-2": "two-sided by distance from the mean; this package doubles the smaller tail, which is 0.113",
    "IND-": "means of the data, or a reference distribution from past records, which a pilot does not have",
    "NIST-": "summary statistics of the data themselves, or pooled from printed summaries",
    "CAT-": "summary statistics of the data themselves, or a p printed from a rounded t",
    "CL-": "summary statistics of the data themselves",
    "UNI-": "autocorrelation is not offered: three to eight runs show none",
    "AOV-SmLs0": "the data set is too large to keep",
    "BEF": "the data set is too large to keep",
    "BEG": "the data set is too large to keep",
    "BEH": "the data set is too large to keep",
    "BEP": "the data set is too large to keep",
    "XRRX-d": "unbiased, but not the least-squares estimator of the drift that this package uses",
    "CH4-df": "a count of readings less unknowns",
    "RAIL-5": "maximum likelihood is not offered: its variances are too small for few groups",
    "RAIL-6": "a check of another library against its own print",
    "DYE-5": "maximum likelihood is not offered",
    "ERG-6": "a check of another library against its own print",
    "SST-3": "no likelihood is evaluated here",
    "KRS-2": "what another library prints wrongly; see methods",
    "GH1-": "the model of the end gauge, not of a comparison",
    "GH2": "propagation through a model with correlated inputs is left to a library",
    "GH4": "propagation through a model with correlated inputs is left to a library",
    "GH5-": "variance components of the voltage standard, not of a comparison",
    "DIST": "standard uncertainties of shapes: instruments",
    "S1-": "propagation of distributions is left to a library",
    "EU-": "propagation through a model of chemistry",
    "BCG-": "DerSimonian-Laird, REML and normal intervals are too narrow for few days and are not offered",
    "ROC": "ranking of several measures: mission",
    "SMAA": "ranking of several measures: mission",
    "YORK": "errors in both axes are left to a library",
}


def digits_asked(id_):
    return next((wanted for start, wanted in DIGITS.items() if id_.startswith(start)), None)


@pytest.mark.parametrize("id_", sorted(COMPUTED))
def test_printed_value(id_):
    found = check(id_, COMPUTED[id_]())
    wanted = digits_asked(id_)
    if wanted is None:
        assert found.agrees, str(found)
    else:
        # As many digits as a double can reach; where the print has fewer than that, they agree as printed too.
        assert found.digits >= wanted, str(found)
        assert found.agrees or any(size in found.rounding for size in ("15 sig", "12 dp", "4 dp")), str(found)
    if id_.startswith(EXACT):
        numbers = found.printed.numbers
        assert np.ravel(found.computed) == pytest.approx(np.array(numbers), rel=1e-9, abs=1e-9), str(found)


def test_every_row_is_computed_or_has_a_reason():
    silent = [
        row.id
        for row in rows(table="statistics")
        if row.id not in COMPUTED and not any(row.id.startswith(start) for start in REASONS)
    ]
    assert not silent, silent


def test_the_rows_are_many():
    known = {row.id for row in rows(table="statistics")}
    assert set(COMPUTED) <= known, sorted(set(COMPUTED) - known)
    assert len(COMPUTED) >= 450
