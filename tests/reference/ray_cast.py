# SPDX-License-Identifier: Apache-2.0
"""Pictures by a ray caster of its own, which shares nothing with tests/render but the card: ropes and webbing of known
size on a bench, read by the engine. Surfaces are distance fields (Hart 1996, sphere tracing), light is the sky's share
and one lamp, three rays by three a pixel."""

import io
import tempfile
import unittest
from pathlib import Path

import numpy as np
from PIL import Image
from scipy.ndimage import gaussian_filter

from answers import asked, asked_json, main

WIDTH, HEIGHT, FOCAL_35MM = 1500, 1125, 26
CARD_W, CARD_H, CARD_MM = 85.60, 53.98, 0.1
SKY, LAMP = 0.5, np.array([0.45, 0.35, 0.82])
NOISE = 0.006


def card_face():
    """Reflectance of the printed card, at a tenth of a millimetre, from where the design puts its ink."""
    fine = 5
    face = np.full((round(CARD_H / CARD_MM) * fine, round(CARD_W / CARD_MM) * fine), 0.85, np.float32)
    for line in asked("card_patches"):
        x, y, w, h, grey = (float(word) for word in line.split())
        left, top, right, bottom = (round(v * fine / CARD_MM) for v in (x, y, x + w, y + h))
        value = grey / 255
        face[top:bottom, left:right] = 0.03 + 0.82 * ((value + 0.055) / 1.055) ** 2.4
    return face.reshape(face.shape[0] // fine, fine, -1, fine).mean((1, 3))


def bench_texture(random):
    """Grain along one way and knots, a tenth of a millimetre a texel, that repeats without a seam."""
    grain = gaussian_filter(random.normal(size=(2048, 2048)), (2, 60), mode="wrap")
    knots = gaussian_filter(random.normal(size=(2048, 2048)), 25, mode="wrap")
    light = 1 + 0.09 * grain / grain.std() + 0.06 * knots / knots.std()
    return (light[:, :, None] * np.array([0.42, 0.33, 0.24])).astype(np.float32)


class Rope:
    """A round cord along x, or round a circle of `bend_mm`; two yarns' colours in a braid."""

    def __init__(self, diameter, bend_mm=np.inf):
        self.radius, self.bend, self.half, self.top = diameter / 2, bend_mm, diameter / 2, diameter
        self.truth = {"sound_width": diameter}

    def distance(self, _, y, z):
        return np.hypot(y, z - self.radius) - self.radius

    def colour(self, x, y, z):
        turn, along = np.arctan2(y, z - self.radius) * 9 / (2 * np.pi), x / 6.5
        left, right = turn + along, turn - along
        over = (np.floor(left) + np.floor(right)) % 2 == 0
        strand = np.floor(np.where(over, left, right))
        colour = np.where((strand % 3 == 0)[:, None], [0.75, 0.72, 0.65], [0.05, 0.13, 0.42])
        across = np.where(over, left, right) - strand - 0.5
        return colour * (1 - 1.8 * across**2 + 0.05 * np.sin(3.1 * strand))[:, None]


class Webbing:
    """A band along x with round edges, a stripe, ribs, and a V cut into its far edge."""

    bend = np.inf

    def __init__(self, width, nick_depth, nick_length, thickness=2.0):
        self.width, self.half, self.top = width, width / 2, thickness
        self.depth, self.length = nick_depth, nick_length
        self.truth = {"web_width": width, "nick_depth": nick_depth, "nick_length": nick_length}

    def distance(self, x, y, z):
        r = self.top / 2
        band = np.hypot(np.maximum(np.abs(y) - (self.half - r), 0), z - r) - r
        cut = np.abs(x) - self.length / 2 * (1 - (self.half - y) / self.depth)
        return np.maximum(band, -cut / np.hypot(1, self.length / 2 / self.depth))

    def colour(self, x, y, _):
        rib = 0.85 + 0.15 * np.cos(2 * np.pi * x / 1.1 + np.pi * np.floor(y / 1.3))
        stripe = np.abs(np.abs(y) - 0.3 * self.width) < 0.06 * self.width
        return np.where(stripe[:, None], [0.7, 0.7, 0.68], [0.5, 0.06, 0.05]) * rib[:, None]


class Scene:
    def __init__(self, item, distance, tilt, way, roll, seed):
        self.item, self.random = item, np.random.default_rng(seed)
        self.bench, self.card = bench_texture(self.random), card_face()
        backward = np.array([np.sin(tilt) * np.cos(way), np.sin(tilt) * np.sin(way), np.cos(tilt)])
        self.eye = distance * backward + [0, 20, 0]
        right = np.cross(-backward, [np.cos(roll), np.sin(roll), 0])
        right /= np.linalg.norm(right)
        self.axes = np.array([right, np.cross(-backward, right), -backward])
        self.focal = FOCAL_35MM * np.hypot(WIDTH, HEIGHT) / np.hypot(36, 24)

    def along_item(self, points):
        x, y, bend = points[:, 0], points[:, 1], self.item.bend
        return (x, y) if np.isinf(bend) else (bend * np.arctan2(x, bend - y), bend - np.hypot(x, bend - y))

    def on_card(self, points):
        return points[:, 0] + CARD_W / 2, self.item.half + 16 + CARD_H - points[:, 1]

    def rays(self, px, py):
        x, y = (px - (WIDTH - 1) / 2) / self.focal, (py - (HEIGHT - 1) / 2) / self.focal
        return x[:, None] * self.axes[0] + y[:, None] * self.axes[1] + self.axes[2]

    def light(self, px, py, item_too):
        """Linear light along the rays through these pixels, and which of them pass near card or item."""
        rays, item = self.rays(px, py), self.item
        reach = -self.eye[2] / rays[:, 2]
        bench = self.eye + rays * reach[:, None]
        x, y = self.along_item(bench)
        texel = (np.floor(bench[:, :2] / 0.1 + 5000).astype(int)) % len(self.bench)
        colour = self.bench[texel[:, 1], texel[:, 0]]
        u, v = self.on_card(bench)
        card = (u > 0) & (u < CARD_W) & (v > 0) & (v < CARD_H)
        rows, columns = (np.clip((w / CARD_MM).astype(int), 0, n - 1) for w, n in zip((v, u), self.card.shape))
        colour = np.where(card[:, None], self.card[rows, columns][:, None], colour)
        # What the item hides of the sky, and its lamp's shadow with a soft border, both as of a long cylinder.
        height = 2 * np.arctan2(item.top / 2, np.maximum(np.abs(y) - item.half + item.top / 2, 0.01))
        lit = np.where(y < 0, np.clip(0.5 + (np.arctan2(LAMP[2], LAMP[1]) - height) / 0.15, 0, 1), 1)
        light = colour * (SKY * (1 + np.cos(height)) / 2 + (1 - SKY) * lit)[:, None]
        near = card | (np.abs(y) < item.half + 1.3 * item.top)
        if item_too:
            hit, points = self.traced(rays, reach)
            x, y, z, step = *self.along_item(points), points[:, 2], 0.01
            slope = [
                item.distance(x + a, y + b, z + c) - item.distance(x - a, y - b, z - c)
                for a, b, c in np.eye(3) * step
            ]
            normal = np.stack(slope, 1) / np.linalg.norm(slope, axis=0)[:, None]
            turned = x / item.bend
            along = LAMP[0] * np.cos(turned) + LAMP[1] * np.sin(turned)
            across = LAMP[1] * np.cos(turned) - LAMP[0] * np.sin(turned)
            lamp = normal[:, 0] * along + normal[:, 1] * across + normal[:, 2] * LAMP[2]
            shade = SKY * (1 + normal[:, 2]) / 2 + (1 - SKY) * np.clip(lamp, 0, None) / LAMP[2]
            light[hit] = item.colour(x, y, z) * shade[:, None]
        return light, near

    def traced(self, rays, reach):
        """Which rays meet the item before the bench, and where."""
        at = (1.01 * self.item.top - self.eye[2]) / rays[:, 2]
        going, hit, length = np.arange(len(rays)), np.zeros(len(rays), bool), np.linalg.norm(rays, axis=1)
        while len(going):
            points = self.eye + rays[going] * at[going, None]
            off = self.item.distance(*self.along_item(points), points[:, 2])
            hit[going[off < 0.004]] = True
            at[going] += np.maximum(off, 0.004) / length[going]
            going = going[(off >= 0.004) & (at[going] < reach[going])]
        return np.flatnonzero(hit), (self.eye + rays * at[:, None])[hit]

    def jpeg(self):
        py, px = (a.ravel().astype(float) for a in np.mgrid[0:HEIGHT, 0:WIDTH])
        light, near = self.light(px, py, item_too=False)
        light[near] = 0
        for right in (-1 / 3, 0, 1 / 3):
            for down in (-1 / 3, 0, 1 / 3):
                light[near] += self.light(px[near] + right, py[near] + down, item_too=True)[0] / 9
        light = gaussian_filter(light.reshape(HEIGHT, WIDTH, 3), (0.6, 0.6, 0))
        light = np.clip(light + NOISE * np.sqrt(light) * self.random.normal(size=light.shape), 1e-6, 1)
        values = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
        exif = Image.Exif()
        exif.get_ifd(0x8769)[0xA405] = FOCAL_35MM
        file = io.BytesIO()
        Image.fromarray((values * 255 + 0.5).astype(np.uint8)).save(file, "JPEG", quality=90, exif=exif)
        return file.getvalue()


class RayCast(unittest.TestCase):
    def holds(self, subject, scene, others=()):
        """Each drawn size is read within its U, and nothing else is read but the others."""
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "scene.jpg"
            path.write_bytes(scene.jpeg())
            report = asked_json("photo", [(subject, str(path))])
        self.assertEqual(report["reasons"], [])
        read = {reading["quantity"]: reading for reading in report["readings"]}
        for quantity, truth in scene.item.truth.items():
            value, doubt = read[quantity]["value"], read[quantity]["U"]
            print(f"{quantity}: {value:.3f} ± {doubt:.3f} mm, drawn {truth:.3f}")
            self.assertLessEqual(abs(value - truth), doubt, quantity)
        self.assertEqual(set(read), set(scene.item.truth) | set(others), "read though not there, or not read")

    def test_straight_rope(self):
        self.holds("rope", Scene(Rope(10.4), 250, np.radians(14), 0.7, 0.3, 1))

    def test_bent_rope(self):
        self.holds("rope", Scene(Rope(11.7, bend_mm=300), 270, np.radians(24), 2.4, 1.9, 2))

    def test_nicked_webbing(self):
        self.holds("webbing", Scene(Webbing(27.3, 4.4, 3.6), 240, np.radians(9), 4.0, 0.9, 3), {"nick_share"})


if __name__ == "__main__":
    main()
