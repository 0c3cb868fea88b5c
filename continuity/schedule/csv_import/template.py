"""The file to start from: the headings, two examples, and what they mean."""

from __future__ import annotations

import csv
import io

from continuity.schedule.csv_import.comparison import Sheet
from continuity.schedule.csv_import.table import NOTE


def template_of(sheet: Sheet) -> str:
    """A CSV text by RFC 4180, with a byte-order mark so that spreadsheets take it for UTF-8."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([column.heading for column in sheet.columns])
    writer.writerows(sheet.examples)
    writer.writerows([NOTE + note] for note in sheet.notes)
    return "\ufeff" + out.getvalue()
