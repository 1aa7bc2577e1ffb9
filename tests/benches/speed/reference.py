"""The same work by the libraries of another language, for the benchmark that starts this script.

    python reference.py FOLDER SERIES PERIODS

FOLDER holds `series.f64` (SERIES rows of PERIODS figures) and `quantiles.f64` (rows of a chance, a size and a
probability), as little-endian floating point. Each line on standard input names a piece of work; its results go
to FOLDER/<name>.f64, and the seconds it took, without reading and writing, to standard output.

It needs numpy, scipy and statsforecast. One thread, as the side that it is compared with.
"""
import os
import sys
import time

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"):
    os.environ[name] = "1"

import numpy as np
from scipy import stats
from statsforecast.models import TSB, CrostonClassic, CrostonSBA

folder, count, periods = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
series = np.fromfile(f"{folder}/series.f64").reshape(count, periods)
chances, sizes, probabilities = np.fromfile(f"{folder}/quantiles.f64").reshape(-1, 3).T


def forecasts(model):
    return lambda: [model.forecast(record, h=1)["mean"][0] for record in series]


work = {
    "croston": forecasts(CrostonClassic()),
    "sba": forecasts(CrostonSBA()),
    "tsb": forecasts(TSB(0.1, 0.1)),
    "quantiles": lambda: stats.nbinom.ppf(chances, sizes, probabilities),
}

# What is compiled or loaded at the first call is not measured.
for model in (CrostonClassic(), CrostonSBA(), TSB(0.1, 0.1)):
    model.forecast(series[0], h=1)
stats.nbinom.ppf(0.5, 1, 0.5)
print("ready", flush=True)

for line in sys.stdin:
    name = line.strip()
    begin = time.perf_counter()
    found = work[name]()
    seconds = time.perf_counter() - begin
    np.asarray(found, dtype=np.float64).tofile(f"{folder}/{name}.f64")
    print(seconds, flush=True)
