"""Laws of canonical text and of the digest chain."""

from __future__ import annotations

import unicodedata
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from vanewise.errors import InputError
from vanewise.record.canon import canonical, from_canonical, is_canonical
from vanewise.record.chain import Link, chain, verify

words = st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\x00"), max_size=12)
values: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers() | words,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(words, inner, max_size=4),
    max_leaves=20,
)


def normal(value: Any) -> Any:
    if isinstance(value, str):
        return unicodedata.normalize("NFC", value)
    if isinstance(value, dict):
        return {normal(key): normal(item) for key, item in value.items()}
    if isinstance(value, list):
        return [normal(item) for item in value]
    return value


def has_clash(value: Any) -> bool:
    if isinstance(value, dict):
        return len({normal(key) for key in value}) < len(value) or any(has_clash(item) for item in value.values())
    return isinstance(value, list) and any(has_clash(item) for item in value)


@given(values)
def test_a_value_survives_its_canonical_text(value: Any) -> None:
    assume(not has_clash(value))
    text = canonical(value)
    assert from_canonical(text) == normal(value)
    assert canonical(from_canonical(text)) == text
    assert is_canonical(text)


@given(st.dictionaries(words, st.integers(), min_size=2, max_size=6), st.randoms(use_true_random=False))
def test_the_order_of_keys_does_not_matter(value: dict[str, int], random: Any) -> None:
    assume(not has_clash(value))
    items = list(value.items())
    random.shuffle(items)
    assert canonical(dict(items)) == canonical(value)


@given(words)
def test_composed_and_decomposed_text_are_one(word: str) -> None:
    assert canonical(unicodedata.normalize("NFD", word)) == canonical(unicodedata.normalize("NFC", word))


@given(st.floats())
def test_no_binary_float_gets_into_a_record(number: float) -> None:
    with pytest.raises(InputError, match="as text with its unit"):
        canonical({"reading": number})


texts = st.lists(values.filter(lambda value: not has_clash(value)).map(canonical), min_size=1, max_size=6)


@given(texts)
def test_a_chain_as_written_holds(entries: list[str]) -> None:
    links = chain(entries)
    assert verify(links, head=links[-1].digest) == ()


@given(texts, st.data())
def test_any_flipped_byte_shows(entries: list[str], data: st.DataObject) -> None:
    links = list(chain(entries))
    place = data.draw(st.integers(0, len(links) - 1))
    field = data.draw(st.sampled_from(["text", "digest", "prev_digest"]))
    raw = bytearray(getattr(links[place], field).encode())
    assume(raw)
    position = data.draw(st.integers(0, len(raw) - 1))
    raw[position] ^= 1 << data.draw(st.integers(0, 6))
    try:
        changed = raw.decode()
    except UnicodeDecodeError:
        return  # A database hands back no such text at all.
    parts = {"text": links[place].text, "digest": links[place].digest, "prev_digest": links[place].prev_digest}
    links[place] = Link(**{**parts, field: changed})
    assert verify(links)


@given(texts.filter(lambda entries: len(entries) > 1), st.data())
def test_dropping_doubling_or_swapping_entries_shows(entries: list[str], data: st.DataObject) -> None:
    whole = chain(entries)
    links = list(whole)
    place = data.draw(st.integers(0, len(links) - 2))
    how = data.draw(st.sampled_from(["drop", "double", "swap", "cut the end"]))
    if how == "drop":
        del links[place]
    elif how == "double":
        links.insert(place, links[place])
    elif how == "swap":
        links[place], links[place + 1] = links[place + 1], links[place]
    else:
        del links[-1]
    assert verify(links, head=whole[-1].digest)
