# SPDX-License-Identifier: Apache-2.0
"""Worked examples H.1 and H.2 of JCGM 100:2008. Printed values are from memory; each is also computed here by NumPy,
by another route than our own: H.1 drawn by another generator, H.2 by the analytic law of propagation."""

import unittest

import numpy as np
from scipy import stats

from answers import asked_json, main


def end_gauge_draws(n):
    """Deviation from 50 mm in nm, distributions of JCGM 101:2008, table 10."""
    random = np.random.default_rng(50)

    def curved_trapezoid(half_width, d):
        half = half_width + random.uniform(-d, d, n)
        return half * random.uniform(-1, 1, n)

    standard = 50_000_623 + 25 * random.standard_t(18, n)
    difference = (
        215 + 6 * random.standard_t(24, n) + 4 * random.standard_t(5, n) + 7 * random.standard_t(8, n)
    )
    expansion = random.uniform(9.5e-6, 13.5e-6, n)
    temperature = random.normal(-0.1, 0.2, n) + 0.5 * np.cos(random.uniform(0, 2 * np.pi, n))
    expansion_difference = curved_trapezoid(1e-6, 0.1e-6)
    temperature_difference = curved_trapezoid(0.05, 0.025)
    correction = standard * (expansion_difference * temperature + expansion * temperature_difference)
    return standard + difference - correction - 50e6


class EndGauge(unittest.TestCase):
    """H.1."""

    @classmethod
    def setUpClass(cls):
        cls.ours = asked_json("end_gauge")

    def test_budget(self):
        lines = [(25, 18), (9.7, 25.6), (2.9, 50), (16.6, 2)]
        u = np.sqrt(sum(each**2 for each, _ in lines))
        dof = u**4 / sum(each**4 / v for each, v in lines)
        self.assertAlmostEqual(self.ours["u"], u, places=9)
        self.assertAlmostEqual(self.ours["dof"], dof, places=9)
        # Printed: u = 32 nm, 16.7 effective degrees of freedom (taken as 16), U at 99 % = 2.92 x 32 nm = 93 nm.
        self.assertAlmostEqual(self.ours["u"], 32, delta=0.5)
        self.assertAlmostEqual(self.ours["dof"], 16.7, delta=0.1)
        self.assertAlmostEqual(stats.t.ppf(0.995, 16), 2.92, delta=0.005)
        self.assertAlmostEqual(stats.t.ppf(0.995, 16) * 32, 93, delta=0.5)

    def test_drawn(self):
        theirs = end_gauge_draws(1_000_000)
        drawn = self.ours["drawn"]
        print(f"H.1 drawn: ours {drawn['mean']:.1f} nm, u {drawn['u']:.2f} nm; NumPy {theirs.mean():.1f}, {theirs.std():.2f}")
        self.assertAlmostEqual(drawn["mean"], theirs.mean(), delta=4 * 36 / np.sqrt(400_000))
        self.assertAlmostEqual(drawn["u"], theirs.std(), delta=0.25)
        low, high = np.quantile(theirs, [0.005, 0.995])
        self.assertAlmostEqual(drawn["symmetric"][0], low, delta=1.5)
        self.assertAlmostEqual(drawn["symmetric"][1], high, delta=1.5)
        # JCGM 101, 9.5.4: 838 nm, u = 36 nm, 99 % interval 745 to 932 nm.
        self.assertAlmostEqual(drawn["mean"], 838, delta=0.5)
        self.assertAlmostEqual(drawn["u"], 36, delta=0.5)
        self.assertAlmostEqual(drawn["symmetric"][0], 745, delta=1.5)
        self.assertAlmostEqual(drawn["symmetric"][1], 932, delta=1.5)


class Impedance(unittest.TestCase):
    """H.2."""

    readings = np.array(
        [
            [5.007, 19.663e-3, 1.0456],
            [4.994, 19.639e-3, 1.0438],
            [5.005, 19.640e-3, 1.0468],
            [4.990, 19.685e-3, 1.0428],
            [4.999, 19.678e-3, 1.0433],
        ]
    )

    def test_table_h2(self):
        # Means, their u and correlations as printed.
        mean = self.readings.mean(axis=0)
        u = self.readings.std(axis=0, ddof=1) / np.sqrt(5)
        np.testing.assert_allclose(mean, [4.9990, 19.6610e-3, 1.04446], rtol=1e-6)
        np.testing.assert_allclose(u, [0.0032, 0.0095e-3, 0.00075], rtol=0.02)
        r = np.corrcoef(self.readings.T)
        np.testing.assert_allclose([r[0, 1], r[0, 2], r[1, 2]], [-0.36, 0.86, -0.65], atol=0.006)

    def test_propagation(self):
        v, i, phi = self.readings.mean(axis=0)
        covariance = np.cov(self.readings.T) / 5
        z = v / i
        jacobian = np.array(
            [
                [np.cos(phi) / i, -z * np.cos(phi) / i, -z * np.sin(phi)],
                [np.sin(phi) / i, -z * np.sin(phi) / i, z * np.cos(phi)],
                [1 / i, -z / i, 0],
            ]
        )
        out = jacobian @ covariance @ jacobian.T
        u = np.sqrt(np.diag(out))
        r = out / np.outer(u, u)
        # Printed in table H.4.
        np.testing.assert_allclose([z * np.cos(phi), z * np.sin(phi), z], [127.732, 219.847, 254.260], atol=0.0006)
        np.testing.assert_allclose(u, [0.071, 0.295, 0.236], atol=0.0006)
        np.testing.assert_allclose([r[0, 1], r[0, 2], r[1, 2]], [-0.588, -0.485, 0.993], atol=0.0015)

        ours = asked_json("impedance")
        for name, mean, each in zip("RXZ", [127.732, 219.847, 254.260], u):
            print(f"H.2 {name}: drawn {ours[name]['mean']:.3f}, u {ours[name]['u']:.4f}; analytic {mean}, {each:.4f}")
            self.assertAlmostEqual(ours[name]["mean"], mean, delta=0.003)
            self.assertAlmostEqual(ours[name]["u"] / each, 1, delta=0.01)
        np.testing.assert_allclose(
            [ours["r_RX"], ours["r_RZ"], ours["r_XZ"]], [r[0, 1], r[0, 2], r[1, 2]], atol=0.01
        )


main()
