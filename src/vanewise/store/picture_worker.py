"""Turns one photograph into the pictures that are shown, in a process of its own that can do nothing else.

Started by :mod:`vanewise.store.pictures` with the bytes on standard input. It first gives up what it does not need:
memory, time, files. A picture made to break a decoder then breaks this process and nothing else. It imports nothing of
Vanewise, and answers with one line of JSON, then the bytes of each picture.
"""

from __future__ import annotations

import io
import json
import sys
import warnings
from typing import Any

LARGEST_PIXELS = 60_000_000
"""A telephone's picture has 12 to 50 million."""
MEMORY_BYTES = 1_500_000_000
CPU_S = 30
SIDES = (2048, 480)
"""Longest side of the picture that is shown, and of the small one in a list."""
QUALITY = 85


def give_up_powers() -> None:
    """Limit memory, time and files for the rest of this process. Windows has no such limits; there the time is."""
    try:
        import resource
    except ImportError:
        return
    wanted = {
        "RLIMIT_AS": MEMORY_BYTES,
        "RLIMIT_CPU": CPU_S,
        "RLIMIT_FSIZE": 0,
        "RLIMIT_CORE": 0,
        "RLIMIT_NOFILE": 64,
    }
    for name, value in wanted.items():
        limit = getattr(resource, name, None)
        if limit is None:
            continue
        try:
            resource.setrlimit(limit, (value, value))
        except (ValueError, OSError):
            # macOS refuses some of them; the time limit of the caller still holds.
            continue


def kind_of(data: bytes) -> str:
    """What the first bytes say, whatever the name or the sender says: ``jpeg``, ``png``, ``heic`` or nothing."""
    if data[:3] == b"\xff\xd8\xff":
        return "jpeg"
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return "png"
    if data[4:8] == b"ftyp" and data[8:12] in (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1"):
        return "heic"
    return ""


def open_picture(data: bytes, kind: str) -> Any:
    from PIL import Image

    Image.MAX_IMAGE_PIXELS = LARGEST_PIXELS
    if kind == "heic":
        import pi_heif

        # No thread of its own would fit in the memory limit.
        pi_heif.options.DECODE_THREADS = 1
        pi_heif.register_heif_opener()
    picture = Image.open(io.BytesIO(data), formats=["HEIF" if kind == "heic" else kind.upper()])
    width, height = picture.size
    if width * height > LARGEST_PIXELS:
        raise ValueError(f"pixels {width} x {height}")
    return picture


def upright(picture: Any) -> Any:
    """Turned as it was held, in the colours of a screen, without anything else that came with it."""
    from PIL import Image, ImageOps

    profile = picture.info.get("icc_profile")
    # A JPEG is decoded at no more than twice the size that is shown: less memory, less time.
    picture.draft("RGB", (SIDES[0], SIDES[0]))
    turned = ImageOps.exif_transpose(picture)
    if turned.mode != "RGB":
        turned = turned.convert("RGB")
    turned.thumbnail((SIDES[0], SIDES[0]), Image.Resampling.LANCZOS)
    if profile:
        turned = to_screen_colours(turned, profile)
    bare = Image.new("RGB", turned.size)
    bare.paste(turned)
    return bare


def to_screen_colours(picture: Any, profile: bytes) -> Any:
    """Colours of a wide-gamut camera as a screen expects them; a profile that cannot be read is left out."""
    from PIL import ImageCms

    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        return ImageCms.profileToProfile(picture, source, ImageCms.createProfile("sRGB")) or picture
    except (ImageCms.PyCMSError, OSError, ValueError):
        return picture


def jpeg(picture: Any, side: int) -> bytes:
    from PIL import Image

    copy = picture.copy()
    copy.thumbnail((side, side), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    copy.save(out, "JPEG", quality=QUALITY, optimize=False)
    return out.getvalue()


def bombs() -> tuple[type[Exception], ...]:
    """What the library raises for a picture that unpacks to far more than it takes."""
    from PIL import Image

    return (Image.DecompressionBombError, Image.DecompressionBombWarning)


def answer(told: dict[str, Any], bodies: tuple[bytes, ...] = ()) -> None:
    sys.stdout.buffer.write(json.dumps(told).encode() + b"\n" + b"".join(bodies))
    sys.stdout.buffer.flush()


def main() -> None:
    data = sys.stdin.buffer.read()
    give_up_powers()
    kind = kind_of(data)
    if not kind:
        answer({"refused": "kind"})
        return
    # A picture too large is refused by its header; a warning of the library must not be all there is.
    warnings.simplefilter("error")
    try:
        picture = upright(open_picture(data, kind))
        bodies = tuple(jpeg(picture, side) for side in SIDES)
    except ImportError:
        answer({"refused": "no heic", "kind": kind})
    except MemoryError:
        answer({"refused": "pixels", "kind": kind})
    except (OSError, ValueError, SyntaxError, EOFError, Warning, *bombs()) as error:
        # What else a broken picture does to a decoder ends this process, and the caller says the same.
        large = isinstance(error, bombs()) or "pixels" in str(error)
        answer({"refused": "pixels" if large else "torn", "kind": kind})
    else:
        width, height = picture.size
        answer({"kind": kind, "width": width, "height": height, "sizes": [len(body) for body in bodies]}, bodies)


if __name__ == "__main__":
    main()
