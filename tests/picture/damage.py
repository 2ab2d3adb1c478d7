# SPDX-License-Identifier: Apache-2.0
"""Pages of a display that never was, in several letterings, and damaged in ways that change what seems to stand there: points
that are faint or gone, spots and scratches on strokes, two values in one picture, a mark that cuts. All from a seed; what stands on
a page is known here and nowhere else."""
import math
import random

import numpy
import PIL.Image
import PIL.ImageDraw
import PIL.ImageFilter
import PIL.ImageFont

import photographs

TRUETYPE = "/usr/share/fonts/truetype/"
# Font, ground, ink, size of the letters. "segments": seven of them, drawn from rectangles.
LOOKS = {
    "paper": ("dejavu/DejaVuSans.ttf", (255, 255, 250), (22, 22, 26), 44),
    "dark": ("dejavu/DejaVuSans.ttf", (14, 16, 18), (225, 228, 230), 44),
    "serif": ("dejavu/DejaVuSerif.ttf", (205, 214, 208), (28, 34, 40), 40),
    "narrow": ("liberation/LiberationSansNarrow-Regular.ttf", (236, 234, 226), (22, 22, 26), 48),
    "warning": ("liberation/LiberationSans-Regular.ttf", (252, 214, 208), (60, 10, 12), 46),
    "alarm": ("liberation/LiberationSans-Bold.ttf", (176, 22, 18), (250, 244, 240), 44),
    "mono": ("liberation/LiberationMono-Regular.ttf", (10, 24, 12), (120, 240, 140), 42),
    "condensed": ("dejavu/DejaVuSansCondensed-Bold.ttf", (225, 228, 230), (30, 34, 60), 44),
    "segments": ("segments", (196, 206, 188), (30, 34, 30), 44),
}
LEVELS = range(1, 6)
ABOVE = {"a": (0, 0, 1, 0), "b": (1, 0, 1, 1), "c": (1, 1, 1, 2), "d": (0, 2, 1, 2), "e": (0, 1, 0, 2), "f": (0, 0, 0, 1), "g": (0, 1, 1, 1)}
LIT = {"0": "abcdef", "1": "bc", "2": "abged", "3": "abgcd", "4": "fgbc", "5": "afgcd", "6": "afgedc", "7": "abc", "8": "abcdefg", "9": "abcdfg", "-": "g"}


def mixed(ground, ink, share):
    return tuple(round(g + (i - g) * share) for g, i in zip(ground, ink))


def write_segments(pen, at, text, height, ink, of_sign):
    """Digits 0.55 as wide as high, 0.12 thick; a point has no room of its own."""
    x, base = at
    wide, thick = 0.42 * height, 0.12 * height
    for sign in text:
        if sign in ".:,":
            left = x - 0.2 * height
            for y in (base - thick,) if sign != ":" else (base - thick, base - 0.6 * height):
                pen.rectangle([left, y, left + thick, y + thick], of_sign(sign))
            continue
        for segment in LIT[sign]:
            x0, y0, x1, y1 = ABOVE[segment]
            tall = (height - thick) / 2
            left, top = x + x0 * wide, base - height + y0 * tall
            pen.rectangle([left, top, left + (x1 - x0) * wide + thick, top + (y1 - y0) * tall + thick], of_sign(sign))
        x += 0.82 * height


def font_of(look, text, width):
    name, _, _, size = LOOKS[look]
    if name == "segments":
        return min(width / (0.82 * max(1, len(text))), size * 0.73 * photographs.FINE)
    font = PIL.ImageFont.truetype(TRUETYPE + name, size * photographs.FINE)
    while font.getlength(text) > width:
        size -= 2
        font = PIL.ImageFont.truetype(TRUETYPE + name, size * photographs.FINE)
    return font


def drawn(look, texts, strength=None):
    """`strength`: of each sign's ink; 0: it is not there, and its room is."""
    _, ground, ink, _ = LOOKS[look]
    fine = photographs.FINE
    strength = strength or {}
    page = PIL.Image.new("RGB", (photographs.SIZE[0] * fine, photographs.SIZE[1] * fine), ground)
    pen = PIL.ImageDraw.Draw(page)
    of_sign = lambda sign: mixed(ground, ink, strength.get(sign, 1))
    for index, text in enumerate(texts):
        left, top, width, height = photographs.place(index)[0]
        at = ((left + 12) * fine, (top + height - 16) * fine)
        font = font_of(look, text, (width - 24) * fine)
        if isinstance(font, float):
            write_segments(pen, at, text, font, ink, of_sign)
            continue
        for i, sign in enumerate(text):  # one by one: each with its own strength
            pen.text((at[0] + font.getlength(text[:i]), at[1]), sign, of_sign(sign), font, "ls")
    return page


def boxes(count):
    for index in range(count):
        left, top, width, height = (photographs.FINE * n for n in photographs.place(index)[0])
        yield left, top, left + width, top + height


def of_ink(page, look, box, rng):
    """A place on a stroke within the box."""
    left, top, right, bottom = box
    _, ground, ink, _ = LOOKS[look]
    light = numpy.asarray(page.crop(box), float)
    far = numpy.abs(light - ink).sum(2)
    ys, xs = numpy.nonzero(far < 40)
    if not len(xs):
        return (left + right) / 2, (top + bottom) / 2
    at = rng.randrange(len(xs))
    return left + int(xs[at]), top + int(ys[at])


def spots(page, look, level, rng, count, places=3):
    """Round spots on strokes, of 0.7 to 1.5 of a stroke, white, as the ground, as the ink, or between."""
    _, ground, ink, size = LOOKS[look]
    stroke = 0.095 * size * photographs.FINE
    mask = PIL.Image.new("L", page.size, 0)
    over = PIL.Image.new("RGB", page.size, 0)
    pens = PIL.ImageDraw.Draw(mask), PIL.ImageDraw.Draw(over)
    kind = rng.choice(("white", "ground", "ink", "any"))
    for box in boxes(count):
        for _ in range(rng.randint(1, places)):
            x, y = of_ink(page, look, box, rng)
            if kind == "ink" or rng.random() < 0.2:
                x, y = x + rng.uniform(-3, 3) * stroke, y + rng.uniform(-3, 3) * stroke
            radius = stroke * (0.35 + 0.09 * level) * rng.uniform(0.9, 1.3)
            colour = {"white": (255, 255, 255), "ground": ground, "ink": ink, "any": tuple(rng.randrange(256) for _ in range(3))}[kind]
            wide = [x - radius, y - radius * rng.uniform(0.7, 1.3), x + radius, y + radius * rng.uniform(0.7, 1.3)]
            pens[0].ellipse(wide, 255)
            pens[1].ellipse([wide[0] - 6, wide[1] - 6, wide[2] + 6, wide[3] + 6], colour)
    mask = mask.filter(PIL.ImageFilter.GaussianBlur(rng.choice((0, 0.7, 1.5, 3))))
    return PIL.Image.composite(over, page, mask)


def scratches(page, look, level, rng, count):
    _, ground, ink, _ = LOOKS[look]
    pen = PIL.ImageDraw.Draw(page)
    colour = rng.choice(((255, 255, 255), ground, ink, mixed(ground, ink, 0.5)))
    for box in boxes(count):
        for _ in range(rng.randint(1, 2)):
            x, y = of_ink(page, look, box, rng)
            angle, far = rng.uniform(0, math.pi), rng.uniform(10, 120)
            dx, dy = far * math.cos(angle), far * math.sin(angle)
            pen.line([x - dx, y - dy, x + dx, y + dy], colour, rng.randint(1, 2 * level))
    return page


def reflection(light, level, rng):
    """A window in the glass: a bright piece with an edge, brighter to one side."""
    height, width = light.shape[:2]
    y, x = numpy.mgrid[0:height, 0:width]
    for _ in range(3):
        angle = rng.uniform(0, 2 * math.pi)
        along = (x - rng.uniform(0, width)) * math.cos(angle) + (y - rng.uniform(0, height)) * math.sin(angle)
        reach = rng.uniform(60, 300)
        soft = rng.choice((1, 4, 15))
        shape = 1 / (1 + numpy.exp(numpy.clip(-along / soft, -50, 50))) / (1 + numpy.exp(numpy.clip((along - reach) / soft, -50, 50)))
        shape = shape * (0.4 + 0.6 * numpy.clip(along / reach, 0, 1))
        light = light + (255 * (0.06, 0.15, 0.3, 0.5, 0.8)[level - 1] * rng.uniform(0.5, 1.3) * shape)[:, :, None]
    return light


def moire(light, level, rng):
    height, width = light.shape[:2]
    y, x = numpy.mgrid[0:height, 0:width]
    for channel in range(3):
        angle, length = rng.uniform(0, math.pi), rng.uniform(4, 40)
        wave = numpy.sin(2 * math.pi * (x * math.cos(angle) + y * math.sin(angle)) / length + rng.uniform(0, 6))
        light[:, :, channel] *= 1 + (0.02, 0.05, 0.1, 0.2, 0.35)[level - 1] * wave
    return light


def next_of(text, rng):
    """Another value of the same shape."""
    digits = [i for i, sign in enumerate(text) if sign.isdigit()]
    changed = list(text)
    for i in digits[-rng.randint(1, len(digits)):]:
        changed[i] = str(rng.randrange(10))
    return "".join(changed)


def banded(look, texts, others, level, rng):
    """The upper rows of one value and the lower ones of the next, cut once in each row of fields."""
    page, under = drawn(look, texts), drawn(look, others)
    for box in boxes(len(texts)):
        cut = round(box[3] - 32 - rng.uniform(0.05, 0.95) * 64)
        page.paste(under.crop((box[0], cut, box[2], box[3])), (box[0], cut))
    return page


WAYS = ("clean", "faint point", "point gone", "faint minus", "faint digit", "colon", "comma", "spots", "scratches", "reflection", "moire", "band", "two values", "crop", "eroded", "median")


def damaged(look, texts, way, level, rng):
    """The picture; of each field what may rightly be read there; and how far the left and right end of its mark move."""
    right, cuts = [{text} for text in texts], [(0, 0)] * len(texts)
    faint = (0.6, 0.4, 0.25, 0.15, 0.05)[level - 1]
    page = None
    if way == "faint point":
        page = drawn(look, texts, {".": faint})
    elif way == "point gone":
        page = drawn(look, texts, {".": 0})
    elif way == "faint minus":
        page = drawn(look, texts, {"-": faint})
    elif way == "faint digit":
        page = drawn(look, texts, {str(rng.randrange(10)): faint})
    elif way in ("colon", "comma"):
        sign = ":" if way == "colon" else ","
        right = [{text.replace(".", sign)} | ({text} if sign == "," else set()) for text in texts]
        page = drawn(look, [text.replace(".", sign) for text in texts])
    elif way in ("band", "two values"):
        others = [next_of(text, rng) for text in texts]
        right = [{text, other} for text, other in zip(texts, others)]
        page = banded(look, texts, others, level, rng) if way == "band" else PIL.Image.blend(
            drawn(look, texts), drawn(look, others), (0.06, 0.14, 0.25, 0.38, 0.5)[level - 1])
    else:
        page = drawn(look, texts)
    if way == "spots":
        page = spots(page, look, level, rng, len(texts))
    elif way == "scratches":
        page = scratches(page, look, level, rng, len(texts))
    elif way == "crop":
        cuts = []
        for index, text in enumerate(texts):
            font = font_of(look, text, (photographs.place(index)[0][2] - 24) * photographs.FINE)
            lengths = [0.82 * font * i for i in range(len(text) + 1)] if isinstance(font, float) else [font.getlength(text[:i]) for i in range(len(text) + 1)]
            lengths = [length / photographs.FINE for length in lengths]
            at = rng.randint(0, 1) if rng.random() < 0.5 else rng.randint(len(text) - 1, len(text))
            at = 12 + lengths[at] + rng.uniform(-0.08, 0.08) * 40
            cuts.append((at, 0) if at < 12 + lengths[-1] / 2 else (0, at))
    elif way in ("eroded", "median"):
        dark = sum(LOOKS[look][1]) < sum(LOOKS[look][2])
        size = (3, 5, 7, 9, 11)[level - 1]
        page = page.filter(PIL.ImageFilter.MedianFilter(size) if way == "median" else (PIL.ImageFilter.MinFilter(size) if dark else PIL.ImageFilter.MaxFilter(size)))
    page = page.filter(PIL.ImageFilter.GaussianBlur(rng.choice((0, 0.5, 0.9, 1.4))))
    light = numpy.asarray(page, float).copy()
    if way == "reflection":
        light = reflection(light, level, rng)
    elif way == "moire":
        light = moire(light, level, rng)
    light = light * rng.uniform(0.7, 1) + numpy.random.default_rng(rng.getrandbits(32)).normal(0, rng.choice((0.5, 2, 4)), light.shape)
    return PIL.Image.fromarray(numpy.clip(light, 0, 255).astype(numpy.uint8)), right, cuts
