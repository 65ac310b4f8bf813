"""A report in which nothing was measured: an answer, and not a word from the libraries that work it out."""

from __future__ import annotations

import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis.infer import Options, infer
from vanewise.diagnosis.types import Evidence, Remark


def test_remarks_alone_print_nothing(capfd: pytest.CaptureFixture[str]):
    evidence = Evidence(remarks=(Remark(id="nest", symptom="nest_in_outlet", present=True, who="mechanic"),))
    options = Options(rows=64, weights=False, next_checks=False, pairs=False)
    found = infer(layouts.make("suction-one-pump"), evidence, seed=0, options=options)
    assert np.isfinite(found.posterior.probability).all()
    assert capfd.readouterr() == ("", "")
