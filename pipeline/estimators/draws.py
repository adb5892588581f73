"""The fixed table of low-discrepancy draws from which a quote's joint risk is summed."""

from typing import Any

DRAWS = 2048  # a power of two, as Sobol points want
DIMENSIONS = 16  # hours of up to twelve jobs, then materials, other costs, visits, cost of a visit; house rule
SEED = 20260101
DIGITS = 7
EDGE = 1e-6


def draw_table() -> dict[str, Any]:
    """2,048 points of a scrambled Sobol sequence: as shares in (0, 1) and as standard normals, point by point.

    out:    {"draws", "dimensions", "seed", "uniform": [[...]], "normal": [[...]]}, rounded, so that every reader
            of the book computes the same sums
    source: Sobol 1967, scrambling by Owen 1998 (from memory)
    """
    import numpy as np
    from scipy.special import ndtri
    from scipy.stats.qmc import Sobol

    points = Sobol(DIMENSIONS, scramble=True, rng=np.random.default_rng(SEED)).random(DRAWS)
    uniform = np.clip(points, EDGE, 1 - EDGE).round(DIGITS)
    return {
        "draws": DRAWS,
        "dimensions": DIMENSIONS,
        "seed": SEED,
        "uniform": uniform.tolist(),
        "normal": ndtri(uniform).round(DIGITS).tolist(),
    }
