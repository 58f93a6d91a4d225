"""The skies and scatters of the certification study, and where the printed assumption of an interval holds in them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from samesky.instruments.sources import ErrorSource
from samesky.rehearsal.scene import GUSTS, HANDLE, Scene
from samesky.simulator.sky import Course, SkyModel


@dataclass(frozen=True)
class Sky:
    """``breaks``: for which orders something is there that the printed assumption excludes; ``refit_only`` where it is
    about fittings."""

    says: str
    breaks: tuple[str, ...] = ()
    refit_only: bool = False


BLOCKS = ("blocks with a return", "blocks over days", "swaps turned round", "single swap")
#: A swap allows for the worst believable drift, which none of these skies passes; a straight drift is what a return
#: removes. Where blocks are judged by their repeats these must scatter alike, which they do not when thermals grow.
SKIES = {
    "calm": Sky("no drift, no gusts, no thermals: the readings alone"),
    "drift": Sky("the grass dries and the engine tires: 3 % an hour on the roll"),
    "own drift": Sky("every day drifts in its own way: 3 % an hour on the roll, up or down"),
    "curved drift": Sky("as drift, but faster and faster: 1.5 % after an hour, 6 % after two"),
    "day steps": Sky("every day has a level of its own (2 %), and one step of 2 % at some hour"),
    "random walk": Sky("air and grass wander as much as stated"),
    "thermals": Sky("rising air that grows by 0.1 m/s an hour after half past ten", BLOCKS),
    "installation scatter": Sky("every fitting differs as much as stated", refit_only=True),
    "installation beyond": Sky("every fitting differs three times as much as stated", BLOCKS, True),
    "gusty": Sky("10 kt with gusts of 8 kt more"),
    "fair day": Sky("drift, wander, rigging and moving air all as stated, in fair weather"),
}  # fmt: skip


def under(scene: Scene, name: str) -> Scene:
    """The scene (everything as stated) under one of the skies."""
    if name == "fair day":
        return scene
    stated = scene.scenario
    quiet = dict(stated.sky.courses)
    for handle in set(HANDLE.values()):
        quiet[handle] = replace(quiet[handle], rate_scatter=0.0, walk=0.0, growth=0.0)
    still = {
        key: replace(own, scatter=0.0, slope=0.0, walk=0.0, day=0.0, fitting=0.0) for key, own in stated.unseen.items()
    }
    quiet["rising air"] = replace(quiet["rising air"], scatter=0.05)
    quiet["wind gradient"] = Course(0.0)
    quiet["gust"] = Course(0.0)
    quiet["headwind"] = Course(1.5, scatter=0.3, walk=0.2)
    calm = replace(
        stated,
        sky=SkyModel(quiet),
        unseen=still,
        sources=tuple(one for one in stated.sources if one.name != GUSTS),
    )
    sky = dict(quiet)
    friction, power, rising = quiet["friction"], quiet["power"], quiet["rising air"]
    match name:
        case "drift":
            sky |= {"friction": replace(friction, rate=-0.008), "power": replace(power, rate=-0.004)}
        case "own drift":
            sky |= {"friction": replace(friction, rate_scatter=0.008), "power": replace(power, rate_scatter=0.004)}
        case "curved drift":
            bent = {"curve": -0.0045, "since": 9.5}
            sky |= {"friction": replace(friction, **bent), "power": replace(power, curve=-0.002, since=9.5)}
        case "day steps":
            sky |= {
                "friction": replace(friction, day=0.006, step=0.006),
                "power": replace(power, day=0.01, step=0.008),
            }
        case "random walk":
            still = {key: replace(own, walk=stated.unseen[key].walk) for key, own in still.items()}
        case "thermals":
            sky["rising air"] = replace(rising, growth=0.10, growth_from=10.5)
        case "gusty":
            sky |= {"headwind": Course(5.0, scatter=0.8, walk=0.6), "gust": Course(4.0, scatter=0.8, low=0.0)}
    if name.startswith("installation"):
        times = 3.0 if "beyond" in name else 1.0
        still = {key: replace(own, fitting=times * stated.unseen[key].fitting) for key, own in still.items()}
    scenario = replace(calm, sky=SkyModel(sky), unseen=still)
    if name == "gusty":
        gusts = ErrorSource(GUSTS, "headwind", 1.2, "run", "three tenths of the gust spread")
        scenario = replace(scenario, sources=(*calm.sources, gusts))
    return replace(scene, scenario=scenario)
