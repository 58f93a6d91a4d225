"""Every printed row of these rooms' topics is computed in some test, or listed here with a reason."""

from __future__ import annotations

import re
from pathlib import Path

from samesky.published.registry import row, rows

TESTS = Path(__file__).resolve().parents[1]
TOPICS = (
    "take-off",
    "climb and level speed",
    "weight and balance",
    "engine and airworthiness",
    "momentum",
    "engine",
    "tip speed",
    "performance",
    "tolerances",
    "scatter",
    "nuisance",
    "timing",
    "GPS",
    "baro",
    "video",
)

NOT_COMPUTED = {
    "a planning factor for distance to 50 ft, rounded up: no reduction formula uses it": (
        "T5-001 T5-002 T5-004 T5-005 T5-006 T5-007 T5-010 T5-011 T5-012 T5-014 T5-015 T5-017 T5-018 T5-019 C05"
    ),
    "a handbook's percentage rules, with a printed slip: nothing to compute": "T5-025 T5-026 T5-027 T5-028",
    "a pressure altitude printed as 'about': the air's tests compute exact ones": "T5-024",
    "a formula for flap and gear drag that the package does not need": "T5-029",
    "a worked example of a jet transport: its drag, rotation and arc to an obstacle are no correction of ours": (
        "T5-031 T5-032 T5-035 T5-036 T5-037 T5-038 T5-039 T5-040"
    ),
    "friction is assumed alike on every run, never computed": (
        "T5-054 T5-055 T5-057 T5-059 T5-060 T5-062 T5-063 T5-064 T5-065 T5-066 K10 K11 K12"
    ),
    "exponents for other kinds of aeroplane, from memory": "T5-069",
    "a formula in words; the energy and tapeline steps are held against integration": (
        "T6-001 T6-003 T6-004 T6-005 T6-006 T6-007 T6-008 T6-009 T6-021"
    ),
    "generalised level-flight quantities: the package corrects by small powers instead": "T6-011 T6-012",
    "factors of a noise-contour method": "T6-015 T6-016",
    "its inputs stand in a row that is not in the registry": "T7-015 T7-016 K03",
    "a caution or a rule, no number": (
        "T8-006 T8-007 T8-008 T8-009 T8-010 T8-011 T8-013 T8-014 T8-015 T8-016 E23 T01 T02 T05 T09 "
        "N02 N07 N08 N09 N10 N11"
    ),
    "a formula in words; tested as an identity": "M15 L_dens",
    "a data plate or a performance prediction: the package measures and predicts none": (
        "L_S L_A L_C L_M0 L_d L_CD0 L_e L_b L_Fc L_Gc L_Hc L_Vxv L_Vyv L_VMv L_Vminv L_Vbgv L_Vmdv L_roc L_st L_cs "
        "A01 A02 A03 A04 A05 A06 A07"
    ),
    "no single number": "I05 I08 I09 I11 I12",
}


def test_every_row_is_computed_or_listed_with_a_reason():
    elsewhere = "\n".join(path.read_text(encoding="utf-8") for path in TESTS.rglob("*.py") if path != Path(__file__))
    computed = set(re.findall(r'"((?:T\d-\d{3})|(?:[A-Z]\d{2,3})|(?:L_\w+))"', elsewhere))
    listed = {row_id for ids in NOT_COMPUTED.values() for row_id in ids.split()}
    ours = {one.id for topic in TOPICS for one in rows(topic)}
    assert len(ours) > 150, "the topics have other names now"
    missing = sorted(ours - computed - listed)
    assert not missing, f"neither computed nor listed: {missing}"
    assert all(row(row_id) for row_id in listed)
