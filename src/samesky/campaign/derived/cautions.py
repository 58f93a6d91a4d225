"""Which dangers does the change itself bring, beside those of the measures?"""

from __future__ import annotations

from samesky.campaign.model.campaign import Campaign

TIPS = (
    "Diameter is compared: measure the clearance of the tips, tail up and level, tyres and struts as flown, on the "
    "ground that you will use. What is required is in the aeroplane's certification basis and papers."
)


def of_the_change(campaign: Campaign) -> tuple[str, ...]:
    """Cautions that follow from what is compared: the tips' clearance where configurations differ in diameter."""
    diameters = {one.diameter for one in campaign.configurations.values() if one.diameter is not None}
    return (TIPS,) if len(diameters) > 1 else ()
