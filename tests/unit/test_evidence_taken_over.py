"""An evidence file taken over into the journal says what the file said."""

from __future__ import annotations

from vanewise.jobs.evidence_file import items_of


def test_a_sweep_without_a_unit_is_in_inches_as_the_file_says_it_may_be():
    text = '[[sweeps]]\nid = "now"\nrpm = [1000, 1800]\nreading = [3.2, 4.9]\n'
    report, sound, _ = items_of(text, "sweep.toml")
    assert [item["reading"] for _, item in report] == ["3.2 inHg", "4.9 inHg"]
    assert sound == []
