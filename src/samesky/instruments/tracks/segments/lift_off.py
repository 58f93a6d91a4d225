"""When did the wheels leave the ground? Two ways to ask a track.

By speed: the ground speed passes a stated lift-off speed. By height: the ground goes along the runway's slope, and from
the lift-off on the rate of climb grows steadily through the rotation and then holds. What the heights and the stated
knowledge of slope, rotation and rate leave open of the moment is its uncertainty (JCGM 100:2008, 4.3).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from samesky.instruments.tracks.fixes import Fixes
from samesky.instruments.tracks.noise import SURPRISE, Noise, TrackEstimate, weigh
from samesky.instruments.tracks.segments.segments import scatter_note

#: Height [m] above the lift-off up to which the model of a steady climb is trusted.
HIGHEST = 60.0
#: Seconds before and after the flying speed within which the lift-off is sought.
SEARCHED = (-10.0, 20.0)
#: What is known beforehand of the steady rate of climb [m/s]; wide enough to cover light aeroplanes (assumed).
CLIMB_RATE = TrackEstimate(4.0, 3.0)


@dataclass(frozen=True, slots=True)
class LiftOff:
    """The lift-off, or in ``note`` the reason why it was not found.

    ``speed`` [m/s] is the ground speed there. ``slowness`` [s2/m] is the inverse acceleration where the moment came
    from the same speeds that are integrated to the distance: their errors then partly cancel.
    """

    time: TrackEstimate | None = None
    speed: float = 0.0
    speed_uncertainty: float = 0.0
    slowness: float = 0.0
    note: str = ""
    remarks: tuple[str, ...] = ()

    def shared(self, noise: Noise, duration: float) -> float:
        """Covariance term [m2] of distance and moment: an over-read speed lengthens the one and hastens the other."""
        integral_with_end = noise.standard_deviation**2 * noise.correlation_time
        integral_with_end *= -np.expm1(-duration / noise.correlation_time)
        return -2 * self.speed * self.slowness * integral_with_end


def by_speed(part: Fixes, first: int, lift_off_speed: TrackEstimate, noise: Noise) -> LiftOff:
    """The moment at which the ground speed passes ``lift_off_speed`` [m/s] for the first time after fix ``first``."""
    own = np.flatnonzero((part.piece == part.piece[first]) & (np.arange(len(part)) >= first))
    passed = own[part.ground_speed[own] >= lift_off_speed.value]
    if not passed.size:
        return LiftOff(note=f"the ground speed never reaches {lift_off_speed.value:.1f} m/s")
    if passed[0] == own[0]:
        return LiftOff(note=f"the track begins faster than {lift_off_speed.value:.1f} m/s")
    moment = _passed(part, own, lift_off_speed.value)
    near = own[np.abs(part.time[own] - moment) <= max(2.0, 1.6 * part.interval)]
    tilt = np.polyfit(part.time[near] - moment, part.ground_speed[near], 1)[0]
    if tilt <= 0:
        return LiftOff(note="the ground speed does not grow at the lift-off speed")
    reading = np.hypot(noise.standard_deviation, noise.white)
    unknown = float(np.hypot(lift_off_speed.standard_uncertainty, reading))
    # where the wheels leave or touch, the speed changes otherwise than before: both ways are looked at, by the speeds
    ends = [_passed(part, own, lift_off_speed.value + sign * unknown) for sign in (-1.0, 1.0)]
    ways = [abs(end - moment) if np.isfinite(end) else unknown / tilt for end in ends]
    spread = max(math.hypot(*ways) / math.sqrt(2.0), 0.5 * unknown / tilt)
    known = lift_off_speed.standard_uncertainty
    return LiftOff(TrackEstimate(moment, spread), lift_off_speed.value, known, slowness=spread / unknown)


def _passed(part: Fixes, own: np.ndarray, speed: float) -> float:
    """The first moment [s] at which the ground speed of these fixes passes ``speed`` [m/s]; NaN where it never does.

    The fixes on both sides decide: errors are alike over seconds, so that a wider fit would gain nothing but bend.
    """
    passed = own[part.ground_speed[own] >= speed]
    if not passed.size or passed[0] == own[0]:
        return float("nan")
    at = passed[0]
    below, above = part.ground_speed[at - 1], part.ground_speed[at]
    share = (speed - below) / (above - below)
    return float(part.time[at - 1] + share * (part.time[at] - part.time[at - 1]))


def profile(clock: np.ndarray, rotation) -> np.ndarray:
    """Height per unit of climb rate [s], ``clock`` [s] after lift-off; the rate grows through ``rotation`` [s]."""
    clock = np.maximum(clock, 0.0)
    bent = np.minimum(clock, rotation)
    return bent**2 / (2 * rotation) + clock - bent


def by_height(time, height, way, fast_time, noise: Noise, slope: TrackEstimate, rotation: TrackEstimate) -> LiftOff:
    """The moment at which the height begins to rise: mean and spread of what heights and knowledge leave open.

    The likelihood is taken over a grid of moments and of rotation times; ground level, slope and rate of climb are
    linear and integrated in closed form. No search, so no false minimum; a flat or two-humped answer shows as a wide
    one.

    Parameters
    ----------
    time, height, way : (n,) [s], [m], [m] along the runway, from before the roll into the climb
    fast_time : [s] a moment near the lift-off, about which it is sought
    noise : of the height [m]
    slope : of the runway; rotation : [s] from lift-off to the steady climb
    """
    ground = np.median(height[time <= time[0] + 10.0]) + slope.value * way
    too_high = np.flatnonzero((height - ground > HIGHEST) & (time > fast_time))
    last = too_high[0] if too_high.size else time.size
    if last < 8:
        return LiftOff(note="too few heights about the lift-off")
    time, height, way = time[:last], height[:last], way[:last]
    noise, speed = noise.with_resolution(height), np.gradient(way, time)
    curve = _Curve(time - fast_time, height, way, speed, noise, slope, rotation)
    middle, spread, edge, rate, chi_square = curve.lift_off(
        max(SEARCHED[0], time[0] - fast_time + 1), min(SEARCHED[1], time[-1] - fast_time - 1)
    )
    if edge > 0.01 or rate < 0.5:
        return LiftOff(note="the height does not show where the aeroplane lifted off: give the lift-off speed")
    widen, remarks = _surprise(chi_square, time.size - 3)
    at, rise = np.interp(middle, curve.clock, speed), np.interp(middle, curve.clock, np.gradient(speed, time))
    moment = TrackEstimate(float(fast_time + middle), float(spread * widen))
    return LiftOff(moment, float(at), float(abs(rise) * spread * widen), remarks=remarks)


def _surprise(chi_square: float, freedom: int) -> tuple[float, tuple[str, ...]]:
    """Factor on the uncertainty, and what to say, where heights scatter more than chance allows."""
    from scipy.special import chdtrc

    if chdtrc(freedom, chi_square) >= SURPRISE:
        return 1.0, ()
    scatter = float(np.sqrt(chi_square / freedom))
    return scatter, scatter_note("height", scatter, scatter)


class _Curve:
    """Heights about a lift-off, against all curves that could explain them."""

    def __init__(self, clock, height, way, speed, noise: Noise, slope: TrackEstimate, rotation: TrackEstimate):
        self.clock, self.way, self.speed, self.noise = clock, way, speed, noise
        self.reading = height - height[0]
        self.weighed = weigh(noise, clock, self.reading[:, None])[:, 0]
        self.rotation = rotation
        spreads = np.array([np.inf, slope.standard_uncertainty, CLIMB_RATE.standard_uncertainty])
        self.prior = np.diag(1 / spreads**2)
        self.pull = self.prior @ np.array([0.0, slope.value, CLIMB_RATE.value])

    def lift_off(self, earliest: float, latest: float) -> tuple[float, float, float, float, float]:
        """Mean and standard deviation of the moment, weight at the edges, rate of climb and chi-square at the best.

        The grid runs over the middle of the rotation, which the heights show well, and over its length, which they
        may hardly show; it is drawn closer twice about where the weight lies.
        """
        known, spread = self.rotation.value, self.rotation.standard_uncertainty
        span = [(earliest + known / 2, latest + known / 2), (max(known - 4 * spread, 0.2), known + 4 * spread)]
        edge = 0.0
        for count in ((41, 7), (21, 13), (21, 13)):
            axes = [np.linspace(*ends, number) for ends, number in zip(span, count, strict=True)]
            middles, bends = (grid.ravel() for grid in np.meshgrid(*axes, indexing="ij"))
            moments = middles - bends / 2
            weight, rate, chi_square = self._weights(moments, bends)
            if not edge:
                on_axis = weight.reshape(count).sum(axis=1)
                edge = on_axis[0] + on_axis[-1]
            for axis, (values, nodes) in enumerate(((middles, axes[0]), (bends, axes[1]))):
                mean = weight @ values
                reach = 5 * max(np.sqrt(weight @ (values - mean) ** 2), (nodes[1] - nodes[0]) / 2)
                span[axis] = (max(mean - reach, span[axis][0]), min(mean + reach, span[axis][1]))
        mean = weight @ moments
        return float(mean), float(np.sqrt(weight @ (moments - mean) ** 2)), float(edge), rate, chi_square

    def _weights(self, moments: np.ndarray, bends: np.ndarray) -> tuple[np.ndarray, float, float]:
        """Weight of each node (moment, rotation time), and rate of climb and chi-square at the heaviest."""
        clock, after = self.clock, self.clock[:, None] - moments
        # in the air the slope of the runway lives on as the rate of climb with which the wheels left it
        ground = np.interp(np.minimum(clock[:, None], moments), clock, self.way)
        ground = ground + np.interp(moments, clock, self.speed) * np.maximum(after, 0.0)
        columns = np.stack([np.ones(after.shape), ground, profile(after, bends)], axis=-1)
        weighed = weigh(self.noise, clock, columns.reshape(clock.size, -1)).reshape(columns.shape)
        gram = np.einsum("nki,nkj->kij", columns, weighed) + self.prior
        right = np.einsum("nki,n->ki", columns, self.weighed) + self.pull
        best = np.linalg.solve(gram, right[..., None])[..., 0]
        misfit = self.reading @ self.weighed - np.einsum("ki,ki->k", best, right)
        surprise = ((bends - self.rotation.value) / self.rotation.standard_uncertainty) ** 2
        log_weight = -0.5 * (misfit + surprise + np.linalg.slogdet(gram)[1])
        weight = np.exp(log_weight - log_weight.max())
        at = int(np.argmax(weight))
        residual = self.reading - columns[:, at] @ best[at]
        chi_square = float(residual @ weigh(self.noise, clock, residual[:, None])[:, 0])
        return weight / weight.sum(), float(best[at][2]), chi_square
