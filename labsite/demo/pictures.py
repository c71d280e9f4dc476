"""Drawn photos of invented pieces, so that no real thing is shown."""

import io
import random

from PIL import Image, ImageDraw, ImageFilter

SIZE = (960, 600)


def photo_of_pieces(count: int, *, broken: bool) -> bytes:
    """A JPEG of up to eight plates on a bench; one has lost a corner when `broken`."""
    chance = random.Random(count)  # noqa: S311  (a drawing, no secret)
    picture = Image.new("RGB", SIZE, (150, 140, 122))
    draw = ImageDraw.Draw(picture)
    for y in range(0, SIZE[1], 3):
        shade = chance.randint(-6, 6)
        draw.line([(0, y), (SIZE[0], y)], fill=(150 + shade, 140 + shade, 122 + shade))
    for place in range(min(count, 8)):
        left, top = 70 + place % 4 * 220 + chance.randint(-9, 9), 90 + place // 4 * 240 + chance.randint(-9, 9)
        draw.rectangle([left + 8, top + 10, left + 158, top + 160], fill=(104, 96, 82))
        plate = [(left, top), (left + 150, top), (left + 150, top + 150), (left, top + 150)]
        if broken and place == 0:
            plate = [(left, top), (left + 104, top), (left + 128, top + 26), (left + 150, top + 62), *plate[2:]]
        draw.polygon(plate, fill=(72, 76, 80), outline=(92, 97, 101))
        draw.rectangle([left + 16, top + 112, left + 74, top + 136], fill=(240, 240, 236))
        for bar in range(9):
            draw.line([(left + 20 + bar * 3, top + 116), (left + 20 + bar * 3, top + 132)], fill=(40, 40, 40))
    out = io.BytesIO()
    picture.filter(ImageFilter.GaussianBlur(0.8)).save(out, "JPEG", quality=88)
    return out.getvalue()


def photo_after_trial() -> bytes:
    """A JPEG of one plate with the mark of the wire."""
    picture = Image.new("RGB", SIZE, (58, 54, 50))
    draw = ImageDraw.Draw(picture)
    draw.rectangle([250, 90, 710, 520], fill=(92, 95, 98), outline=(120, 124, 128))
    for ring in range(70, 0, -5):
        shade = 18 + ring // 2
        draw.ellipse([480 - ring, 300 - ring, 480 + ring, 300 + ring], fill=(shade + 6, shade, shade - 2))
    out = io.BytesIO()
    picture.filter(ImageFilter.GaussianBlur(1.4)).save(out, "JPEG", quality=88)
    return out.getvalue()
