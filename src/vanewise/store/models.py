"""The tables. ``Entry`` and ``StoredFile`` are the truth and only grow; ``AircraftRow`` is a reading of them.

Triggers (migration 0001) refuse every change to a row of the first two, in SQLite and PostgreSQL alike. A person who
owns the database can still drop a trigger, which is why every entry also carries the digest of the one before it.
"""

# Django gives its fields their types at run time.
# mypy: disable-error-code="var-annotated"

from __future__ import annotations

from django.db import models


class Entry(models.Model):
    """One line of an aircraft's journal. ``text`` is canonical; the other columns are read from it for searching."""

    aircraft = models.CharField(max_length=60)
    position = models.PositiveIntegerField()
    kind = models.CharField(max_length=40)
    schema_version = models.PositiveSmallIntegerField()
    text = models.TextField()
    prev_digest = models.CharField(max_length=64, blank=True)
    digest = models.CharField(max_length=64, unique=True)
    author = models.CharField(max_length=200)
    at = models.CharField(max_length=40)

    class Meta:
        ordering = ["aircraft", "position"]
        constraints = [
            # With these two a chain cannot fork, whatever a program does.
            models.UniqueConstraint(fields=["aircraft", "prev_digest"], name="one_follower"),
            models.UniqueConstraint(fields=["aircraft", "position"], name="one_position"),
        ]


class StoredFile(models.Model):
    """A photo or document by the SHA-256 digest of its bytes. The bytes lie in the home folder."""

    digest = models.CharField(max_length=64, primary_key=True)
    size = models.PositiveBigIntegerField()
    media_type = models.CharField(max_length=100)
    kept_at = models.CharField(max_length=40)


class AircraftRow(models.Model):
    """Read model: the aircraft there are, and the head of each journal. Locked while an entry is added."""

    aircraft = models.CharField(max_length=60, primary_key=True)
    name = models.CharField(max_length=200)
    invented = models.BooleanField(default=False)
    head = models.CharField(max_length=64)
    length = models.PositiveIntegerField()
    last_at = models.CharField(max_length=40)

    class Meta:
        ordering = ["name", "aircraft"]


class DueRow(models.Model):
    """Read model: what comes next for each aircraft, as it stood at ``head``. Written anew when the head has moved.

    ``next_on`` is the first day on which something may fall due; ``items`` holds the due list's inputs as JSON.
    """

    aircraft = models.CharField(max_length=60, primary_key=True)
    head = models.CharField(max_length=64)
    next_on = models.CharField(max_length=10, db_index=True)
    items = models.TextField()

    class Meta:
        ordering = ["next_on", "aircraft"]
