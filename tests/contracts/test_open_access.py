"""What is open already: the command line knows every access that checks are charged for, and charges none twice."""

from __future__ import annotations

import click

from vanewise.cli import diagnose
from vanewise.diagnosis.checks import ACCESS_MINUTES, CHECKS
from vanewise.diagnosis.expected import Candidate
from vanewise.diagnosis.next_check import access_minutes, minutes_of


def test_the_command_line_offers_every_access():
    offered = next(parameter for parameter in diagnose.params if parameter.name == "opened")
    assert isinstance(offered.type, click.Choice)
    assert set(offered.type.choices) == set(ACCESS_MINUTES)


def test_what_is_open_is_charged_to_no_check():
    behind = [check for check in CHECKS.values() if check.access]
    assert behind
    for check in behind:
        everything = frozenset(check.access)
        assert access_minutes(check, everything) == 0.0
        saved = minutes_of(Candidate(check)) - minutes_of(Candidate(check), everything)
        assert saved == sum(ACCESS_MINUTES[name] for name in check.access)
