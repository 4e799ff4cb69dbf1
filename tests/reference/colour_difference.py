# SPDX-License-Identifier: Apache-2.0
"""CIELAB and CIEDE2000 against scikit-image (Debian: python3-skimage), and the 34 published pairs it carries."""

import pathlib
import unittest

import numpy as np
import skimage
from skimage.color import deltaE_ciede2000, rgb2lab

from answers import asked_numbers, main


def published_pairs():
    """Sharma, Wu and Dalal, Color Res. Appl. 30 (2005) 21-30, table 1."""
    path = pathlib.Path(skimage.__file__).parent / "color" / "tests" / "ciede2000_test_data.txt"
    rows = np.loadtxt(path)
    # Columns: pair, 1, L a b of the first, ten steps between, CIEDE2000, 2, L a b of the second, ...
    return rows[:, 2:5], rows[:, 17:20], rows[:, 15]


class ColourDifference(unittest.TestCase):
    def test_published_pairs(self):
        first, second, difference = published_pairs()
        self.assertEqual(len(difference), 34)
        ours = np.array(asked_numbers("colour_difference", np.hstack([first, second])))[:, 0]
        worst = np.abs(ours - difference).max()
        print(f"34 published pairs: largest difference {worst:.6f}")
        self.assertLessEqual(worst, 0.00005001)

    def test_random_pairs(self):
        random = np.random.default_rng(11664)
        first = random.uniform([0, -100, -100], [100, 100, 100], (5000, 3))
        second = np.vstack(
            [
                random.uniform([0, -100, -100], [100, 100, 100], (2500, 3)),
                first[2500:] + random.normal(0, 2, (2500, 3)),
            ]
        )
        ours = np.array(asked_numbers("colour_difference", np.hstack([first, second])))[:, 0]
        worst = np.abs(ours - deltaE_ciede2000(first, second)).max()
        print(f"5,000 random pairs: largest difference from scikit-image {worst:.2e}")
        self.assertLess(worst, 1e-9)


class Lab(unittest.TestCase):
    def test_random_colours(self):
        rgb = np.random.default_rng(61966).integers(0, 256, (5000, 3))
        ours = np.array(asked_numbers("lab", rgb))
        theirs = rgb2lab(rgb[np.newaxis].astype(np.uint8))[0]
        worst = np.abs(ours - theirs).max()
        # scikit-image carries the sRGB matrix to six digits, we the four of IEC 61966-2-1: up to 0.04 in b*.
        print(f"5,000 random colours: largest difference from scikit-image {worst:.4f}")
        self.assertLess(worst, 0.05)


main()
