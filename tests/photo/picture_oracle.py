"""Pictures as others write them, and what others read of them once they are clean (Pillow: libjpeg, libwebp and
its own PNG reader).

    picture_oracle.py make FOLDER       writes pictures of all kinds, each full of what has to go
    picture_oracle.py compare FOLDER    compares each NAME with NAME.clean beside it; prints what is not as it
                                        should be, a line each, and at last how many it compared
"""

import io
import struct
import sys
from pathlib import Path

from PIL import Image, ImageCms, PngImagePlugin

SECRETS = [b"MADE-UP-CAM", b"made-up comment", b"http://ns.adobe.com", b"ICC_PROFILE", b"iCCP", b"ICCP", b"acsp",
           b"EXIF", b"eXIf", b"XMP ", b"tEXt", b"iTXt", b"zTXt", b"tIME", b"pHYs", b"JFXX"]
XMP = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>made-up comment http://ns.adobe.com/xap/1.0/</x:xmpmeta>"
GPS = 0x8825
ORIENTATION = 0x0112


def scene(mode, size):
    """A picture with slopes, edges and noise that is the same every time."""
    width, height = size
    state, pixels = 12345, bytearray()
    for y in range(height):
        for x in range(width):
            state = (state * 1103515245 + 12345) % 2**31
            pixels += bytes(((x * 7 + state % 32) % 256, (y * 11) % 256, ((x ^ y) * 5) % 256, (x * y) % 256))
    return Image.frombytes("RGBA", size, bytes(pixels)).convert(mode)


def camera(orientation):
    exif = Image.Exif()
    exif[0x010F] = "MADE-UP-CAM"
    exif[ORIENTATION] = orientation
    exif[GPS] = {1: "N", 2: (47.0, 30.0, 0.0), 3: "E", 4: (8.0, 15.0, 0.0)}
    return exif


def profile():
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def jpeg_segments(data):
    """(marker, where it begins, where it ends) up to the first scan."""
    at = 2
    while True:
        marker, length = data[at + 1], struct.unpack(">H", data[at + 2:at + 4])[0]
        yield marker, at, at + 2 + length
        if marker == 0xDA:
            return
        at += 2 + length


def with_ids(data, ids):
    """The same JPEG with its components called otherwise, in frame and scan."""
    out = bytearray(data)
    for marker, begin, _ in jpeg_segments(data):
        if marker in (0xC0, 0xC2):
            for n, name in enumerate(ids):
                out[begin + 10 + 3 * n] = name
        if marker == 0xDA:
            for n, name in enumerate(ids):
                out[begin + 5 + 2 * n] = name
    return bytes(out)


def without(data, markers):
    out, last = bytearray(data[:2]), 2
    for marker, begin, end in jpeg_segments(data):
        if marker not in markers:
            out += data[begin:end]
        last = end
    return bytes(out) + data[last:]


def make(folder):
    def save(name, picture, **how):
        into = io.BytesIO()
        picture.save(into, **how)
        (folder / name).write_bytes(into.getvalue())
        return into.getvalue()

    for mode in ("L", "RGB", "CMYK"):
        for progressive in (False, True):
            for size in ((8, 8), (61, 47)):
                kind = "progressive" if progressive else "baseline"
                save(f"{mode}-{kind}-{size[0]}.jpg", scene(mode, size), format="JPEG", progressive=progressive,
                     exif=camera(6), comment="made-up comment", icc_profile=profile() if mode == "RGB" else None,
                     dpi=(300, 300))
    for orientation in range(1, 9):
        save(f"orientation-{orientation}.jpg", scene("RGB", (24, 16)), format="JPEG", exif=camera(orientation))
    for subsampling in (0, 1, 2):
        save(f"subsampling-{subsampling}.jpg", scene("RGB", (50, 33)), format="JPEG", subsampling=subsampling,
             optimize=True, quality=97)
    plain = save("plain.jpg", scene("RGB", (40, 40)), format="JPEG", subsampling=0)
    bare = without(plain, {0xE0})
    adobe = b"\xFF\xEE\x00\x0EAdobe\x00\x64\x00\x00\x00\x00"
    (folder / "bare.jpg").write_bytes(bare)
    (folder / "called-rgb.jpg").write_bytes(with_ids(bare, b"RGB"))
    (folder / "called-rgb-jfif.jpg").write_bytes(with_ids(plain, b"RGB"))
    (folder / "adobe-rgb.jpg").write_bytes(bare[:2] + adobe + b"\x00" + bare[2:])
    (folder / "adobe-usual.jpg").write_bytes(bare[:2] + adobe + b"\x01" + bare[2:])
    (folder / "adobe-and-jfif.jpg").write_bytes(plain[:20] + adobe + b"\x00" + plain[20:])
    (folder / "archive-behind.jpg").write_bytes(plain + b"PK\x03\x04made-up comment")
    cmyk = save("cmyk-plain.jpg", scene("CMYK", (40, 40)), format="JPEG")
    (folder / "cmyk-bare.jpg").write_bytes(without(cmyk, {0xEE}))

    notes = PngImagePlugin.PngInfo()
    notes.add_text("Comment", "made-up comment")
    notes.add_text("Long", "made-up comment " * 50, zip=True)
    notes.add_itxt("XML:com.adobe.xmp", XMP.decode())
    notes.add(b"tIME", bytes((7, 234, 1, 1, 0, 0, 0)))
    notes.add(b"gAMA", struct.pack(">I", 45455))
    for mode in ("1", "L", "LA", "P", "RGB", "RGBA", "I;16"):
        picture = scene("L" if mode == "I;16" else mode, (61, 47))
        if mode == "I;16":
            picture = picture.convert("I").point(lambda v: v * 257).convert("I;16")
        how = {"transparency": 3} if mode in ("L", "P") else {}
        save(f"{mode.replace(';', '-')}.png", picture, format="PNG", pnginfo=notes, exif=camera(6), dpi=(300, 300),
             icc_profile=profile(), **how)
    save("two-colours.png", scene("P", (8, 8)).quantize(2), format="PNG", bits=1)

    for mode in ("RGB", "RGBA"):
        for lossless in (False, True):
            save(f"{mode}-{'lossless' if lossless else 'lossy'}.webp", scene(mode, (61, 47)), format="WEBP",
                 lossless=lossless, exif=camera(6).tobytes(), xmp=XMP, icc_profile=profile())
    save("plain-lossy.webp", scene("RGB", (8, 8)), format="WEBP")
    save("plain-lossless.webp", scene("RGB", (8, 8)), format="WEBP", lossless=True)
    # What has to be refused.
    save("refused-moving.webp", scene("RGB", (8, 8)), format="WEBP", save_all=True,
         append_images=[scene("L", (8, 8)).convert("RGB")])
    save("refused-moving.png", scene("RGB", (8, 8)), format="PNG", save_all=True,
         append_images=[scene("L", (8, 8)).convert("RGB")])
    save("refused.gif", scene("P", (8, 8)), format="GIF")
    save("refused.bmp", scene("RGB", (8, 8)), format="BMP")
    save("refused.tiff", scene("RGB", (8, 8)), format="TIFF")


def shows(data):
    """All that can be seen of it."""
    with Image.open(io.BytesIO(data)) as picture:
        picture.load()
        palette = picture.getpalette("RGB") if picture.mode == "P" else None
        return picture.format, picture.mode, picture.size, picture.tobytes(), palette, picture.info.get("transparency")


def compare(folder):
    count = 0
    for cleaned in sorted(folder.glob("*.clean")):
        count += 1
        name = cleaned.stem
        before, after = (folder / name).read_bytes(), cleaned.read_bytes()
        if shows(before) != shows(after):
            print(f"{name}: shows something else")
        for secret in SECRETS:
            if secret in after:
                print(f"{name}: still holds {secret}")
        with Image.open(io.BytesIO(before)) as old, Image.open(io.BytesIO(after)) as new:
            kept = dict(new.getexif())
            turned = old.getexif().get(ORIENTATION, 1) if name.endswith(".jpg") else 1
            if kept != ({} if turned == 1 else {ORIENTATION: turned}):
                print(f"{name}: its Exif says {kept}")
            if new.info.get("icc_profile") or new.info.get("comment") or new.info.get("xmp") or getattr(new, "text", {}):
                print(f"{name}: still says {new.info}")
            if old.info.get("gamma") != new.info.get("gamma"):
                print(f"{name}: another gamma")
    print(f"{count} compared")


if __name__ == "__main__":
    {"make": make, "compare": compare}[sys.argv[1]](Path(sys.argv[2]))
