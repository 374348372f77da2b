"""Says which made files differ from the kept ones: in their bytes alone, or in what they say.

`changed.py KEPT FRESH [--keep]`; ends with 1 where a text differs or a file came or went.
"""

import pathlib
import shutil
import sys
import zipfile

import pypdfium2
from PIL import Image, ImageChops, ImageStat

MOST_BYTES = 1_500_000
# Grey levels out of 255: another rasteriser's edges, not another text.
SAME_PICTURE = 3.0


def says(path):
    """What a reader gets from the file, without times and without the way it was packed."""
    kind = path.suffix
    if kind == ".pdf":
        pages = pypdfium2.PdfDocument(path)
        text = [page.get_textpage().get_text_bounded() for page in pages]
        if any(text):
            return text
        return [page.render(scale=0.5, grayscale=True).to_pil().convert("L") for page in pages]
    if kind in (".jpg", ".png"):
        return [Image.open(path).convert("L")]
    if kind in (".xlsx", ".ods"):
        with zipfile.ZipFile(path) as pack:
            return {n: pack.read(n) for n in sorted(pack.namelist())}
    return path.read_bytes()


def same(a, b):
    pictures = isinstance(a, list) and a and isinstance(a[0], Image.Image)
    if not pictures:
        return a == b
    return len(a) == len(b) and all(
        x.size == y.size and ImageStat.Stat(ImageChops.difference(x, y)).mean[0] < SAME_PICTURE for x, y in zip(a, b)
    )


def main():
    kept, fresh = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
    names = lambda folder: {p.name for p in folder.iterdir()} if folder.is_dir() else set()
    gone, new = names(kept) - names(fresh), names(fresh) - names(kept)
    bytes_only, text = [], []
    for name in sorted(names(kept) & names(fresh)):
        a, b = kept / name, fresh / name
        if a.read_bytes() != b.read_bytes():
            (bytes_only if same(says(a), says(b)) else text).append(name)
    for what, found in (("no longer made", gone), ("new", new), ("other bytes, same content", bytes_only), ("CHANGED", text)):
        for name in sorted(found):
            print(f"{what}: {name}")
    size = sum(p.stat().st_size for p in fresh.iterdir())
    print(f"{len(names(fresh))} files, {size:,} bytes; {len(text)} changed, {len(bytes_only)} in bytes alone")
    if size > MOST_BYTES:
        sys.exit(f"the files are larger than {MOST_BYTES:,} bytes")
    if sys.argv[3:4] == ["--keep"]:
        for name in gone:
            (kept / name).unlink()
        for name in sorted(new | set(text)):
            kept.mkdir(exist_ok=True)
            shutil.copyfile(fresh / name, kept / name)
    elif gone or new or text:
        sys.exit(1)


if __name__ == "__main__":
    main()
