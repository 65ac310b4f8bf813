"""What is kept: an append-only journal for each aircraft, and files by digest, in one home folder.

The journal is the truth; every table beside it is a reading of it and can be rebuilt (:func:`vanewise.store.verify`).
Call :func:`vanewise.store.settings.configure` once before anything else here. See ``docs/explanation/storage.md``.
"""
