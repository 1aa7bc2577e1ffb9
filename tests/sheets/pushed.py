"""Sheets that a shop fills in, with dates and numbers as a spreadsheet keeps them."""

from datetime import date, datetime, time, timedelta

from tables import ELECTRODE, JOB, TORCH

# The service runs by the clock, and takes nothing that is too old.
EVENING = datetime.combine(date.today() - timedelta(days=1), time(18, 5))
FRACTION = date(2032, 3, 1)


def sheets():
    """The table, its header, and rows of which some are right and some are not."""
    yield (
        "counts",
        ["row_id", "drawer", "part", "counted", "counted_at", "by"],
        [
            ["c-1", None, ELECTRODE, 3, EVENING, "helper"],
            ["c-2", None, "collet-2.4", "2 pcs", EVENING, "helper"],
            ["c-3", None, FRACTION, 3, EVENING, "helper"],
            ["c-4", None, "collet-2.4", -1, EVENING, None],
        ],
    )
    yield (
        "usage",
        ["row_id", "when", "torch", "part", "qty", "arc", "grinds", "job", "what"],
        [
            ["u-1", EVENING, TORCH, None, None, "75m", 2, JOB, None],
            ["u-2", EVENING, TORCH, "collet-2.4", 1, None, None, JOB, "broke"],
            ["u-3", EVENING, "T9", None, None, "75m", None, None, None],
        ],
    )
    yield (
        "receipts",
        ["row_id", "when", "part", "qty", "lot", "note"],
        [
            ["r-1", EVENING, ELECTRODE, 10, "L-2231", "first; with a \"mark\""],
            ["r-2", EVENING, "collet-2.5", 5, None, None],
        ],
    )


def as_text(cell):
    """A cell as CSV has it."""
    if cell == FRACTION:
        return f"{cell:%Y-%m-%d}"
    if isinstance(cell, datetime):
        return f"{cell:%Y-%m-%d %H:%M:%S}"
    return "" if cell is None else cell
