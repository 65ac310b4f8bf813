"""Pictures for the invented case: drawn here, because nothing of the case was ever in front of a camera."""

from __future__ import annotations

import io
from typing import Final

WIDTH: Final = 1200
HEIGHT: Final = 900


def drawn(words: str) -> bytes:
    """A JPEG of a tray with pieces and a scale on it, and what it stands for written below."""
    from PIL import Image, ImageDraw

    picture = Image.new("RGB", (WIDTH, HEIGHT), (226, 221, 208))
    draw = ImageDraw.Draw(picture)
    draw.rectangle((60, 60, WIDTH - 60, HEIGHT - 160), fill=(246, 243, 234), outline=(90, 86, 76), width=6)
    for number in range(6):
        left = 130 + number * 160
        draw.rectangle((left, 200, left + 60, 480), fill=(52, 52, 54))
    draw.polygon(((930, 470), (975, 380), (1010, 480)), fill=(52, 52, 54))
    for tick in range(21):
        x = 130 + tick * 45
        draw.line((x, 600, x, 630 if tick % 5 else 660), fill=(20, 20, 20), width=4)
    draw.text((60, HEIGHT - 120), f"Drawn for the demo: {words}", fill=(20, 20, 20), font_size=36)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=85)
    return out.getvalue()
