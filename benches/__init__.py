"""Speed, as ratios within one run. See README.md in this folder."""

import os

# As the command line does, before numpy is imported by any bench.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
