"""When it pays to replace before the end: by age, or on what is known of this very unit. The costs are the user's own.

Age replacement after Barlow and Hunter (1960): replace at age T or at the end, whichever comes first; the cost per hour
is [c_p S(T) + c_f F(T)] / integral of S from 0 to T. Where lives show no wear-out there is no such age, and none is
given. A cap on the chance of a stop on the next flight in cloud overrides any cost.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal

import msgspec
import numpy as np

from vanewise import chances
from vanewise.errors import wrong
from vanewise.watch import words
from vanewise.watch.arrays import Floats
from vanewise.watch.life import LifeModel

Survival = Callable[[Floats], Floats]

AGES = 600
"""Ages tried in a first pass over the reach, and again around the cheapest."""


class Costs(msgspec.Struct, frozen=True, kw_only=True):
    """What the user says it costs, in any one unit of money. There are no defaults."""

    planned: float
    """Replacing before the end, at a time of one's choosing."""
    unplanned: float
    """Replacing after it, wherever the aircraft stands then."""
    in_cloud: float = 0.0
    """Share of stops that happen in cloud."""
    no_standby: float = 1.0
    """Chance that no working standby takes over."""
    loss_given_those: float = 0.0
    """Chance that the flight is lost then."""
    loss: float = 0.0
    """What that loss is worth to the user."""

    @property
    def failure(self) -> float:
        """Expected cost of an unplanned end."""
        return self.unplanned + self.in_cloud * self.no_standby * self.loss_given_those * self.loss


class Replacement(msgspec.Struct, frozen=True, kw_only=True):
    """Advice on replacing. ``hours``: age at which it pays, or hours from now for one unit; None where no age does."""

    kind: Literal["at an age", "no wear-out age", "keep to the end", "now", "in so many hours"]
    hours: float | None
    cost_per_hour: float | None
    words: tuple[str, ...]


def check_costs(costs: Costs) -> None:
    """Raise :class:`InputError` unless planned > 0, failure > 0 and every chance lies between 0 and 1."""
    if not (costs.planned > 0.0 and costs.unplanned > 0.0 and costs.loss >= 0.0 and math.isfinite(costs.failure)):
        raise wrong(
            "costs",
            "money above 0 for both kinds of replacement",
            f"{costs.planned:g}, {costs.unplanned:g}",
            "enter both",
        )
    for name in ("in_cloud", "no_standby", "loss_given_those"):
        value = getattr(costs, name)
        if not 0.0 <= value <= 1.0:
            raise wrong(f"costs, {name}", "a chance from 0 to 1", value, "enter a share of 1")


def cost_rates(survival: Survival, costs: Costs, ages: Floats) -> Floats:
    """Cost per hour of replacing at each of ``ages`` (T,), increasing from above 0. Simpson between the ages."""
    points = np.concatenate([[0.0], ages])
    middles = (points[1:] + points[:-1]) / 2.0
    s, s_mid = survival(points), survival(middles)
    pieces = np.diff(points) / 6.0 * (s[:-1] + 4.0 * s_mid + s[1:])
    lived = np.cumsum(pieces)
    return np.asarray((costs.planned * s[1:] + costs.failure * (1.0 - s[1:])) / lived)


def best_age(survival: Survival, costs: Costs, reach: float) -> tuple[float, float] | None:
    """(age, cost per hour) of the cheapest replacement up to ``reach`` hours; None where running on is cheapest."""
    ages = reach * np.linspace(1.0 / AGES, 1.0, AGES)
    rates = cost_rates(survival, costs, ages)
    place = int(np.argmin(rates))
    if place >= AGES - 2 or rates[place] >= rates[-1] * (1.0 - 1e-4):
        return None
    # Looked at more finely between the neighbours of the cheapest; what lies before keeps its pieces.
    before = max(place - 1, 0)
    fine = np.concatenate([ages[: before + 1], np.linspace(ages[before], ages[place + 1], AGES + 1)[1:]])
    rates = cost_rates(survival, costs, fine)
    place = int(np.argmin(rates))
    return float(fine[place]), float(rates[place])


def replace_by_age(model: LifeModel, costs: Costs, what: str = "part") -> Replacement:
    """At which age to replace a kind of part, from its lives.

    Where a shape of 1 or below is not ruled out the lives show no wear-out, and no age is given whatever the costs.
    """
    check_costs(costs)
    if not model.wears_out:
        return Replacement(
            kind="no wear-out age",
            hours=None,
            cost_per_hour=None,
            words=(
                f"The lives of this {what} show no wear-out age: replacing it by hours buys nothing they could show.",
                "Look at its condition instead.",
            ),
        )
    hours = np.geomspace(1.0, 1e6, 400)
    reach = float(np.interp(0.999, 1.0 - model.survival(hours), hours))
    found = best_age(model.survival, costs, reach)
    if found is None:
        return Replacement(
            kind="keep to the end",
            hours=None,
            cost_per_hour=None,
            words=(f"With these costs it does not pay to replace the {what} before its end.",),
        )
    age, rate = found
    return Replacement(
        kind="at an age",
        hours=age,
        cost_per_hour=rate,
        words=(
            f"With these costs, replacing the {what} at {words.hours(age)} is cheapest.",
            "Near that age the cost hardly changes, so go by the next planned work.",
        ),
    )


def minimal_repair_age(eta: float, beta: float, planned: float, repair: float) -> float | None:
    """Age at which to replace a unit that is only mended at each failure: eta (c_p / (c_r (beta - 1)))**(1/beta).

    None where the shape is 1 or below: then mending goes on for ever.
    """
    if beta <= 1.0:
        return None
    return float(eta * (planned / (repair * (beta - 1.0))) ** (1.0 / beta))


def replace_this_one(
    hours: Floats,
    survival: Floats,
    costs: Costs,
    usual_cost_per_hour: float,
    next_flight_stop: float,
    cap: float | None = None,
) -> Replacement:
    """When to replace this very unit, from its own chance of no stop ``survival`` at ``hours`` from now (0 first).

    Keeping it t hours costs c_p S + c_f (1 - S), less the usual cost per hour of the time it gave; the cheapest t wins.
    ``cap``: the greatest chance of a stop on the next flight in cloud that is accepted; above it, replace now.
    """
    check_costs(costs)
    if cap is not None and not 0.0 < cap < 1.0:
        raise wrong("cap", "a chance above 0 and below 1", cap, "state it as 1 in N")
    if cap is not None and next_flight_stop > cap:
        stops = f"Chance of a stop on the next flight {chances.chance(next_flight_stop)}"
        return Replacement(
            kind="now",
            hours=0.0,
            cost_per_hour=None,
            words=(
                f"{stops}; accepted is {chances.chance(cap)}.",
                "Replace it before flight in cloud, whatever it costs.",
            ),
        )
    lived = np.concatenate([[0.0], np.cumsum(np.diff(hours) * (survival[1:] + survival[:-1]) / 2.0)])
    net = costs.planned * survival + costs.failure * (1.0 - survival) - usual_cost_per_hour * lived
    place = int(np.argmin(net))
    if place == 0:
        return Replacement(
            kind="now", hours=0.0, cost_per_hour=None, words=("With these costs it pays to replace it now.",)
        )
    if place == len(hours) - 1:
        return Replacement(
            kind="keep to the end",
            hours=None,
            cost_per_hour=None,
            words=("With these costs it does not pay to replace it before its limit or its end.",),
        )
    return Replacement(
        kind="in so many hours",
        hours=float(hours[place]),
        cost_per_hour=None,
        words=(f"With these costs it pays to replace it {words.hours(float(hours[place]))} from now.",),
    )
