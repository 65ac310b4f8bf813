"""Answers of reference libraries that the tests in tests/published compare with. See README.md in this folder."""
