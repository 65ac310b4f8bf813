"""Every look of a package answered as a careful shop would, for tests that need a job with nothing missing."""

from __future__ import annotations

from vanewise.work.types import Ask, Photo, StepLook, WorkPackage

ANSWERS = {"yes": "yes", "yes or why": "yes", "text": "written", "same": "clockwise", "name": "A. Person"}


def answers(look: StepLook) -> dict[str, str]:
    told: dict[str, str] = {}
    for ask in look.asks:
        if ask.kind != "photo":
            told[ask.id] = "2025-03-01" if ask.kind == "day" else ANSWERS[ask.kind]
        if ask.kind == "same":
            told[f"{ask.id} other"] = ANSWERS["same"]
    return told


def all_answers(package: WorkPackage) -> dict[str, dict[str, str]]:
    return {look.id: answers(look) for look in package.looks}


def all_photos(package: WorkPackage) -> tuple[Photo, ...]:
    return tuple(photo_of(ask) for look in package.looks for ask in look.asks if ask.kind == "photo")


def photo_of(ask: Ask) -> Photo:
    return Photo(
        id=ask.id,
        original="",
        shown="",
        small="",
        width=4,
        height=3,
        media_type="image/jpeg",
        about=ask.words,
        moment="found",
    )
