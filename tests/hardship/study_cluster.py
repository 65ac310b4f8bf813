"""Helper, not a test: a Dask cluster of two worker processes on this machine, until its standard input ends.

Prints the scheduler's address and the workers' process ids, then waits.
"""

import json
import sys

from distributed import LocalCluster

if __name__ == "__main__":
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    ) as cluster:
        cluster.scale(2)
        pids = [worker.process.pid for worker in cluster.workers.values()]
        sys.stdout.write(json.dumps({"address": cluster.scheduler_address, "workers": pids}) + "\n")
        sys.stdout.flush()
        sys.stdin.read()
