"""Turns Soybean.rda of Debian's package r-cran-mlbench into soybean.csv. See README.md beside."""

from __future__ import annotations

import csv
import sys
from pathlib import Path


def main(source: str) -> None:
    """Write soybean.csv: the class, then 35 attributes as the codes 0, 1 ...; missing is empty."""
    import rdata

    frame = rdata.read_rda(source)["Soybean"]
    target = Path(__file__).parent / "soybean.csv"
    with target.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["class", *(c.replace(".", "_") for c in frame.columns[1:])])
        for row in frame.itertuples(index=False):
            writer.writerow("" if cell != cell else cell for cell in row)


if __name__ == "__main__":
    main(sys.argv[1])
