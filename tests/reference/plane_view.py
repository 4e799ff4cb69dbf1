# SPDX-License-Identifier: Apache-2.0
"""Where a pixel lies on the bench, from a card's four corners: against scikit-image's projective transform
(Debian: python3-skimage), which knows nothing of focal lengths and poses."""

import unittest

import numpy as np
from scipy.spatial.transform import Rotation
from skimage.transform import ProjectiveTransform

from answers import asked_numbers, main

WIDTH, HEIGHT = 85.60, 53.98  # ISO/IEC 7810, ID-1
CARD = np.array([[0, 0], [WIDTH, 0], [WIDTH, HEIGHT], [0, HEIGHT]])
CENTRE = np.array([(4032 - 1) / 2, (3024 - 1) / 2])


def seen(points, focal, rotation, position):
    """Bench points, y down the card, through a pin-hole."""
    in_camera = rotation.apply(np.column_stack([points, np.zeros(len(points))])) + position
    return focal * in_camera[:, :2] / in_camera[:, 2:] + CENTRE


class PlaneView(unittest.TestCase):
    def test_against_projective_transform(self):
        random = np.random.default_rng(7810)
        questions, answers = [], []
        for _ in range(60):
            focal = random.uniform(2500, 6000)
            tilt, way = np.radians(random.uniform(3, 40)), random.uniform(0, 2 * np.pi)
            rotation = Rotation.from_rotvec(tilt * np.array([np.cos(way), np.sin(way), 0])) * Rotation.from_euler(
                "z", random.uniform(0, 2 * np.pi)
            )
            distance = focal * random.uniform(0.08, 0.16)
            position = np.array([0, 0, distance]) - rotation.apply([WIDTH / 2, HEIGHT / 2, 0])
            corners = seen(CARD, focal, rotation, position)
            outside = ProjectiveTransform()
            self.assertTrue(outside.estimate(corners, CARD))
            for pixel in seen(random.uniform([-120, -100], [200, 150], (5, 2)), focal, rotation, position):
                questions.append([float(x) for x in (focal, *corners.ravel(), *pixel)])
                answers.append(outside(pixel)[0])
        ours = np.array(asked_numbers("plane_view", questions))
        worst = np.abs(ours - np.array(answers)).max()
        print(f"{len(ours)} pixels under 60 views: largest difference from scikit-image {worst:.2e} mm")
        self.assertLess(worst, 1e-3)


if __name__ == "__main__":
    main()
