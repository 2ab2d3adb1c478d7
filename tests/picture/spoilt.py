# SPDX-License-Identifier: Apache-2.0
"""Spoils pictures by seed, in ways that a camera, a lamp above the bench and a file format do: askew, out of focus, moved, spots of
glare of several sizes, noise, dim, JPEG, and all at once. Five levels each, from hardly seen to hardly readable."""
import io
import math
import random

import numpy
import PIL.Image
import PIL.ImageFilter

LEVELS = range(1, 6)
RIM = 30  # pixels around the page


def askew(picture, share, rng):
    """The picture as it is seen from aside, and where its corners lie then."""
    width, height = picture.size
    reach = share * width + RIM
    move = lambda: rng.uniform(-1, 1) * share * width
    inks = [(0, 0), (width, 0), (width, height), (0, height)]
    corners = [(x + reach + move(), y + reach + move()) for x, y in inks]
    rows, right = [], []
    for (u, v), (x, y) in zip(corners, inks):  # Pillow wants the map from the new picture to the old one
        rows += [[u, v, 1, 0, 0, 0, -u * x, -v * x], [0, 0, 0, u, v, 1, -u * y, -v * y]]
        right += [x, y]
    size = (math.ceil(width + 2 * reach), math.ceil(height + 2 * reach))
    return picture.transform(size, PIL.Image.Transform.PERSPECTIVE, list(numpy.linalg.solve(rows, right)), PIL.Image.Resampling.BICUBIC,
                             fillcolor=picture.getpixel((2, 2))), corners


def moved(light, length, rng):
    """The camera moved over `length` pixels while it looked, in any direction."""
    angle = rng.uniform(0, math.pi)
    sum_, steps = numpy.zeros_like(light), max(2, math.ceil(2 * length))
    for i in range(steps):
        far = length * (i / (steps - 1) - 0.5)
        sum_ += numpy.roll(light, (round(far * math.sin(angle)), round(far * math.cos(angle))), (0, 1))
    return sum_ / steps


def glare(light, spots, strength, rng, places):
    """`spots` of light, soft or with an edge, some of them on a place that is to be read."""
    y, x = numpy.mgrid[0:light.shape[0], 0:light.shape[1]]
    for _ in range(spots):
        if rng.random() < 0.6:
            left, top, right, bottom = rng.choice(places)
            u, v = rng.uniform(left, right), rng.uniform(top, bottom)
        else:
            u, v = rng.uniform(0, light.shape[1]), rng.uniform(0, light.shape[0])
        reach = math.exp(rng.uniform(math.log(5), math.log(90)))
        far = ((x - u) ** 2 + ((y - v) * rng.uniform(0.6, 1.6)) ** 2) / reach**2
        shape = numpy.exp(-far / 2) if rng.random() < 0.6 else 1 / (1 + numpy.exp(numpy.clip(6 * (far - 1), -50, 50)))
        light = light + (255 * strength * rng.uniform(0.5, 1.5) * shape)[:, :, None]
    return light


def as_jpeg(picture, quality):
    bytes_ = io.BytesIO()
    picture.save(bytes_, "JPEG", quality=quality)
    return PIL.Image.open(io.BytesIO(bytes_.getvalue())).convert("RGB")


WAYS = ("blur", "motion", "glare", "tilt", "noise", "dim", "jpeg", "all")
# What each way does on each level; what a way does not name is not done.
STRENGTHS = {"blur": (0.8, 2, 3, 4, 6), "motion": (2, 5, 8, 11, 15), "glare": (0.2, 0.5, 0.9, 1.4, 2.2), "tilt": (0.01, 0.03, 0.05, 0.08, 0.12),
             "noise": (4, 10, 20, 32, 45), "dim": (0.85, 0.6, 0.4, 0.25, 0.15), "jpeg": (90, 70, 50, 35, 20)}
# Of each way's strengths, which is a part of "all" on each level; 0: none.
TOGETHER = {1: {"tilt": 1, "blur": 1, "noise": 1, "jpeg": 1}, 2: {"tilt": 2, "blur": 1, "noise": 1, "dim": 1, "glare": 1, "jpeg": 2},
            3: {"tilt": 2, "blur": 2, "noise": 2, "dim": 1, "glare": 2, "jpeg": 2}, 4: {"tilt": 3, "motion": 2, "noise": 2, "dim": 2, "glare": 3, "jpeg": 3},
            5: {"tilt": 4, "blur": 3, "motion": 2, "noise": 3, "dim": 2, "glare": 5, "jpeg": 4}}


def spoilt(picture, way, level, rng, boxes):
    """`boxes`: left, top, right, bottom of what is to be read, in pixels of the picture."""
    parts = {way: level} if way != "all" else TOGETHER[level]
    strength = {name: STRENGTHS[name][at - 1] for name, at in parts.items()}
    picture, corners = askew(picture, strength.get("tilt", 0), rng)
    offset = corners[0]
    if "blur" in strength:
        picture = picture.filter(PIL.ImageFilter.GaussianBlur(strength["blur"]))
    light = numpy.asarray(picture, float)
    if "motion" in strength:
        light = moved(light, strength["motion"], rng)
    light = light * strength.get("dim", 1)
    if "glare" in strength:
        places = [(a + offset[0], b + offset[1], c + offset[0], d + offset[1]) for a, b, c, d in boxes]
        light = glare(light, 2 + 2 * level, strength["glare"], rng, places)
    if "noise" in strength:
        light = light + numpy.random.default_rng(rng.getrandbits(32)).normal(0, strength["noise"], light.shape)
    picture = PIL.Image.fromarray(numpy.clip(light, 0, 255).astype(numpy.uint8))
    return (as_jpeg(picture, strength["jpeg"]) if "jpeg" in strength else picture), corners
