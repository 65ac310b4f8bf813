"""Weibull fits by maximum likelihood, by ``lifelines`` and by ``surpyval``, which share no code."""

from __future__ import annotations

import math
from collections.abc import Iterator

import surpyval
from lifelines import WeibullFitter

from oracles.kit import Case, oracle_set

# NIST/SEMATECH e-Handbook of Statistical Methods, section 8.4.1.3: ten failures, ten units still running at 500 h.
NIST_FAILED = (54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0)
NIST_RUNNING = (500.0,) * 10

# The two sets below are made up for their arithmetic: looks every 100 h, and units first seen at some age.
BETWEEN = ((0.0, 200.0), (200.0, 300.0), (300.0, 400.0), (300.0, 400.0), (400.0, 500.0), (400.0, 500.0), (500.0, 700.0))
STILL_RUNNING = (350.0, 500.0, 700.0, 700.0, 700.0)
FIRST_SEEN = (0.0, 0.0, 120.0, 200.0, 250.0, 400.0, 410.0, 90.0)
FAILED_AT = (310.0, 480.0, 520.0, 260.0, 640.0, 455.0, 900.0, 700.0)
FAILED = (1, 1, 1, 1, 0, 1, 0, 0)


@oracle_set(
    "weibull_fit",
    library="lifelines, surpyval",
    about="Two-parameter Weibull by maximum likelihood: exact failures, right-censored units, failures between two "
    "looks, and units that came under observation at an age (left truncation). eta is the scale, beta the shape.",
)
def _weibull_fit() -> Iterator[Case]:
    yield _case(exact=NIST_FAILED, right=NIST_RUNNING)
    yield _case(between=BETWEEN, right=STILL_RUNNING)
    exact = [(age, entry) for age, entry, failed in zip(FAILED_AT, FIRST_SEEN, FAILED, strict=True) if failed]
    right = [(age, entry) for age, entry, failed in zip(FAILED_AT, FIRST_SEEN, FAILED, strict=True) if not failed]
    yield _case(
        exact=tuple(age for age, _ in exact),
        right=tuple(age for age, _ in right),
        exact_entry=tuple(entry for _, entry in exact),
        right_entry=tuple(entry for _, entry in right),
    )


def _case(
    *,
    exact: tuple[float, ...] = (),
    right: tuple[float, ...] = (),
    between: tuple[tuple[float, float], ...] = (),
    exact_entry: tuple[float, ...] = (),
    right_entry: tuple[float, ...] = (),
) -> Case:
    lower = [*exact, *right, *(low for low, _ in between)]
    upper = [*exact, *(math.inf for _ in right), *(high for _, high in between)]
    entry = [*(exact_entry or (0.0,) * len(exact)), *(right_entry or (0.0,) * len(right)), *(0.0 for _ in between)]
    first = WeibullFitter().fit_interval_censoring(lower, upper, entry=entry if any(entry) else None)
    # surpyval: 0 exact, 1 right-censored, 2 between two looks (then a pair), and when each came under observation.
    marks = [0] * len(exact) + [1] * len(right) + [2] * len(between)
    pairs = [[low, low if mark != 2 else high] for low, high, mark in zip(lower, upper, marks, strict=True)]
    more = {"tl": entry} if any(entry) else {}
    second = surpyval.Weibull.fit(pairs if between else lower, c=marks, **more)
    return (
        {
            "exact_h": list(exact),
            "right_h": list(right),
            "between_h": [list(pair) for pair in between],
            "exact_entry_h": list(exact_entry),
            "right_entry_h": list(right_entry),
        },
        {
            "lifelines": {
                "eta_h": float(first.lambda_),
                "beta": float(first.rho_),
                "log_likelihood": float(first.log_likelihood_),
            },
            "surpyval": {
                "eta_h": float(second.params[0]),
                "beta": float(second.params[1]),
                "log_likelihood": -float(second.neg_ll()),
            },
        },
    )
