"""Makes every report with its answers: `make.py FOLDER [PART...]`."""

import pathlib
import sys

PARTS = ["text", "habits", "wrong", "mail", "exchange", "sheets", "pages", "scans"]


def main():
    folder = pathlib.Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for part in sys.argv[2:] or PARTS:
        for make in __import__(part).ALL:
            report, data = make()
            (folder / report.name).write_bytes(data)
            (folder / f"{report.name}.answers.json").write_text(report.answers_json(), encoding="utf-8")
            print(f"{report.name}: {len(data):,} bytes, {len(report.soils)} samples")


if __name__ == "__main__":
    main()
