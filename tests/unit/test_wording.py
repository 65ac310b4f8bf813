"""Capitals, sentences and lists."""

from __future__ import annotations

import pytest

from vanewise.wording import capital, listed, sentence


@pytest.mark.parametrize(("said", "text"), [("", ""), ("pump", "Pump"), ("DG drifts", "DG drifts"), ("éclat", "Éclat")])
def test_only_the_first_letter_is_changed(said: str, text: str):
    assert capital(said) == text


@pytest.mark.parametrize(("said", "text"), [(" leak found ", "Leak found."), ("Why?", "Why?"), ("done.", "Done.")])
def test_a_sentence_ends_once(said: str, text: str):
    assert sentence(said) == text


@pytest.mark.parametrize(
    ("names", "text"), [((), ""), (("a",), "a"), (("a", "b"), "a or b"), (("a", "b", "c"), "a, b or c")]
)
def test_a_list_ends_with_its_last_word(names: tuple[str, ...], text: str):
    assert listed(names, "or") == text
