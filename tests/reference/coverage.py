# SPDX-License-Identifier: Apache-2.0
"""Coverage factors and conformance probabilities against SciPy (Debian: python3-scipy) and the printed tables."""

import unittest

import numpy as np
from scipy import stats

from answers import asked_numbers, main


class CoverageFactor(unittest.TestCase):
    def test_student_t(self):
        rows = [(dof, p) for dof in (1, 2, 3.5, 5, 10, 16.7, 20, 49.9, 100, 1e6) for p in (0.6827, 0.90, 0.9545, 0.99)]
        ours = np.array(asked_numbers("student_t", rows))[:, 0]
        theirs = np.array([stats.t.ppf((1 + p) / 2, dof) for dof, p in rows])
        print(f"Student's t: largest relative difference from SciPy {np.abs(ours / theirs - 1).max():.1e}")
        np.testing.assert_allclose(ours, theirs, rtol=1e-8)

    def test_table_g2(self):
        # JCGM 100:2008, table G.2, column 95.45 %, from memory.
        table = {1: 13.97, 2: 4.53, 3: 3.31, 4: 2.87, 5: 2.65, 8: 2.37, 10: 2.28, 15: 2.18, 20: 2.13, 30: 2.09, 50: 2.05}
        ours = asked_numbers("student_t", [(dof, 0.9545) for dof in table])
        np.testing.assert_allclose(np.array(ours)[:, 0], list(table.values()), atol=0.0051)


class ConformanceProbability(unittest.TestCase):
    # JCGM 106:2012, table 1, from memory: z = (T - y) / u for a single upper limit and the conformance probability.
    table_1 = {0.80: 0.84, 0.90: 1.28, 0.95: 1.64, 0.99: 2.33, 0.999: 3.09}

    def test_table_1(self):
        for conformance, z in self.table_1.items():
            self.assertAlmostEqual(stats.norm.ppf(conformance), z, delta=0.0051)
            exact = float(stats.norm.ppf(conformance))
            ours = asked_numbers("probability_above", [(10.0 - exact * 0.25, 0.25, 0, 10.0)])[0][0]
            self.assertAlmostEqual(1 - ours, conformance, places=12)

    def test_normal(self):
        random = np.random.default_rng(106)
        y = random.normal(10, 3, 500)
        u = random.uniform(0.5, 3, 500)
        ours = np.array(asked_numbers("probability_above", [(a, b, 0, 10.0) for a, b in zip(y, u)]))[:, 0]
        theirs = stats.norm.sf(10.0, y, u)
        np.testing.assert_allclose(ours, theirs, rtol=1e-9)

    def test_few_degrees_of_freedom(self):
        rows = [(9.0, 0.5, dof, 10.0) for dof in (1.0, 2.5, 4.0, 12.0, 49.0)]
        ours = np.array(asked_numbers("probability_above", rows))[:, 0]
        np.testing.assert_allclose(ours, [stats.t.sf(2.0, dof) for _, _, dof, _ in rows], rtol=1e-9)

    def test_guard_band_of_U_limits_the_risk(self):
        # JCGM 106, 8.3.2: with w = U = 2 u, an accepted reading exceeds the limit with at most 2.3 %.
        ours = asked_numbers("probability_above", [(10.0 - 2 * 0.25, 0.25, 0, 10.0)])[0][0]
        self.assertAlmostEqual(ours, 0.0228, delta=0.00005)


main()
