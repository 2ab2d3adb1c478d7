# SPDX-License-Identifier: Apache-2.0
"""Photographs of a display that never was: pages drawn by Pillow in Debian's DejaVu Sans, bright on dark or dark on
bright, seen askew, out of focus, noisy, dim, and with a lamp's glare on them. Everything is from a seed; what stands on a page is
known here and nowhere else."""
import math
import random

import numpy
import PIL.Image
import PIL.ImageDraw
import PIL.ImageFilter
import PIL.ImageFont

FONT = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf"
SIZE = (400, 520)  # of a page, in its own unit
FINE = 2  # pixels of the drawing for each
PHOTOGRAPH = (1000, 1200)
LAMPS = {"red": (235, 30, 25), "amber": (255, 150, 0), "green": (20, 200, 60), "blue": (40, 90, 255)}

# How far corners move (of the page's width), blur and noise in pixels and grey levels, light, glare at its middle.
LEVELS = [
    {"askew": 0.01, "blur": 0.5, "noise": 2, "light": 1.0, "glare": 0.0},
    {"askew": 0.02, "blur": 0.9, "noise": 4, "light": 0.85, "glare": 0.06},
    {"askew": 0.04, "blur": 1.3, "noise": 7, "light": 0.7, "glare": 0.14},
    {"askew": 0.07, "blur": 2.4, "noise": 14, "light": 0.45, "glare": 0.4},
    {"askew": 0.10, "blur": 4.0, "noise": 24, "light": 0.3, "glare": 0.8},
]


def place(index):
    """Text and lamp of the index-th field: left, top, width, height."""
    left, top = 10 + 195 * (index % 2), 20 + 100 * (index // 2)
    return [left, top, 150, 70], [left + 160, top + 25, 20, 20]


def drawn(fields, bright_on_dark):
    """`fields`: (text, lamp or None, lit) each."""
    ground, ink, ring = ((14, 16, 18), (225, 228, 230), (70, 70, 72)) if bright_on_dark else ((236, 234, 226), (22, 22, 26), (150, 150, 150))
    page = PIL.Image.new("RGB", (SIZE[0] * FINE, SIZE[1] * FINE), ground)
    pen = PIL.ImageDraw.Draw(page)
    for index, (text, lamp, lit) in enumerate(fields):
        (left, top, width, height), (x, y, across, _) = place(index)
        size = 44
        font = PIL.ImageFont.truetype(FONT, size * FINE)
        while font.getlength(text) > (width - 24) * FINE:
            size -= 2
            font = PIL.ImageFont.truetype(FONT, size * FINE)
        pen.text(((left + 12) * FINE, (top + height - 16) * FINE), text, ink, font, "ls")
        if lamp:
            colour = LAMPS[lamp] if lit else tuple((g + r) // 2 for g, r in zip(ground, ring))
            pen.ellipse([x * FINE, y * FINE, (x + across) * FINE, (y + across) * FINE], colour, ring)
    return page


def taken(page, level, rng):
    """A photograph of it, and where the page's corners lie in it."""
    width, height = PHOTOGRAPH
    inset = 0.12 * width
    move = lambda: rng.uniform(-1, 1) * level["askew"] * width
    corners = [(x + move(), y + move()) for x, y in ((inset, inset), (width - inset, inset), (width - inset, height - inset),
                                                     (inset, height - inset))]
    inks = [(0, 0), (page.width, 0), (page.width, page.height), (0, page.height)]
    rows, right = [], []
    for (u, v), (x, y) in zip(corners, inks):  # Pillow wants the map from the photograph to the page
        rows += [[u, v, 1, 0, 0, 0, -u * x, -v * x], [0, 0, 0, u, v, 1, -u * y, -v * y]]
        right += [x, y]
    ground = page.getpixel((2, 2))
    photo = page.transform(PHOTOGRAPH, PIL.Image.Transform.PERSPECTIVE, list(numpy.linalg.solve(rows, right)),
                           PIL.Image.Resampling.BICUBIC, fillcolor=ground)
    photo = photo.filter(PIL.ImageFilter.GaussianBlur(level["blur"]))
    light = numpy.asarray(photo, float) * level["light"]
    y, x = numpy.mgrid[0:height, 0:width]
    far = ((x - rng.uniform(0.2, 0.8) * width) ** 2 + (y - rng.uniform(0.2, 0.8) * height) ** 2) / (0.22 * width) ** 2
    light += (level["glare"] * 255 * numpy.exp(-far))[:, :, None]
    light += numpy.random.default_rng(rng.getrandbits(32)).normal(0, level["noise"], light.shape)
    return PIL.Image.fromarray(numpy.clip(light, 0, 255).astype(numpy.uint8)), corners


def number(rng):
    """A number as displays show them: up to five digits, some with a point, some below zero."""
    decimals = rng.choice([0, 0, 0, 1, 1, 2])
    value = rng.choice([rng.uniform(0, 10), rng.uniform(0, 100), rng.uniform(0, 1000), rng.uniform(1000, 9999)])
    if rng.random() < 0.15:
        value = -math.fmod(value, 100)
    return f"{value:.{decimals}f}"
