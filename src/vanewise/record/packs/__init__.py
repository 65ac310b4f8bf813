"""Jurisdiction packs as data files; :func:`vanewise.record.jurisdiction.read_pack` reads their text."""
