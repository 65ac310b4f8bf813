"""Studies: one aircraft over very many scenarios, in bounded memory and always the same for the same seed.

``run`` works a study out in one call; ``work_out`` one chunk of it, anywhere; ``read_study`` reads the file.
"""

from vanewise.study.running import Part, Prepared, Progress, added_up, prepare, run, work_out
from vanewise.study.tally import Tally
from vanewise.study.types import Axis, Draw, Study, Varied

__all__ = [
    "Axis",
    "Draw",
    "Part",
    "Prepared",
    "Progress",
    "Study",
    "Tally",
    "Varied",
    "added_up",
    "prepare",
    "run",
    "work_out",
]
