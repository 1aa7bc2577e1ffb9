"""Holds the sheets of a running server against its JSON answers, as programs that others wrote see them."""

import contextlib
import csv
import io
import json
import math
import sys
import tempfile
import time
from datetime import datetime, timedelta, timezone
from pathlib import Path

import openpyxl
import pandas

import pushed
from office import Office, grid, shown
from service import Service
from tables import ELECTRODE, JOB, Day, Instant, furnish, tables

# What spreadsheets count days from.
FIRST_DAY = datetime(1899, 12, 30)
# A workbook has instants to about a millisecond, and LibreOffice saves hundredths.
MOMENT = timedelta(milliseconds=10)
# Columns with two decimals in the currency of the demo's shop.
MONEY = ("price", "cost")


def same(found, expected):
    """Whether a cell, as some program reads it, holds what the API tells."""
    if expected is None or expected == "":
        return found is None or found == "" or (isinstance(found, float) and math.isnan(found))
    if isinstance(expected, (Instant, Day)):
        shown = moment(found)
        return isinstance(shown, datetime) and abs(shown - expected.moment()) < MOMENT
    if isinstance(expected, str):
        return found == expected
    is_number = isinstance(found, (int, float)) and not isinstance(found, bool)
    return is_number and math.isclose(found, expected, rel_tol=1e-12)


def moment(found):
    """A cell that shows an instant."""
    if isinstance(found, float):
        return FIRST_DAY + timedelta(days=found)
    if isinstance(found, str):
        return datetime.fromisoformat(found)
    return found


def now():
    """The instant in UTC, as workbooks have it."""
    return datetime.now(timezone.utc).replace(tzinfo=None)


def differences(rows, expected, between):
    """What is otherwise in rows under a header; each row was true at a moment between two."""
    names, *rows = rows
    if len(rows) != len(expected):
        yield f"{len(rows)} rows, and not {len(expected)}"
    if names[-1] != "as_of":
        yield f"the last column is {names[-1]}"
    for number, (row, wanted) in enumerate(zip(rows, expected), 2):
        for name, cell in zip(names[:-1], row):
            if name not in wanted and cell not in (None, ""):
                yield f"line {number}, {name}: {cell!r}, of which the API tells nothing"
            elif not same(cell, wanted.get(name)):
                yield f"line {number}, {name}: {cell!r}, and not {wanted.get(name)!r}"
        shown = moment(row[-1])
        if not isinstance(shown, datetime) or not between[0] - MOMENT <= shown <= between[1] + MOMENT:
            yield f"line {number}, as_of: {row[-1]!r}, and not between {between}"


def by_openpyxl(path):
    sheet = openpyxl.load_workbook(path, data_only=True).worksheets[0]
    return [list(row) for row in sheet.iter_rows(values_only=True)]


def by_pandas(path):
    frame = pandas.read_excel(path, header=None, dtype=object, keep_default_na=False)
    return [[None if cell is pandas.NaT else cell for cell in row] for row in frame.values.tolist()]


def trimmed(rows):
    """Rows without blank cells that a program adds at the right, and without a sum below."""
    width = len(rows[0]) - sum(cell in (None, "") for cell in rows[0])
    return [row[:width] for row in rows if row[width - 1] not in (None, "")]


def hidden(document, expected):
    """What a person would not see: the day of an instant, or a whole number as such."""
    names = [name for name in grid(document)[0] if name]
    for row, wanted in zip(shown(document, len(names), len(expected[:3]) + 1)[1:], expected):
        for name, text in zip(names, row):
            value = wanted.get(name)
            if isinstance(value, Instant):
                value = f"{value.moment():%Y-%m-%d %H:%M:%S}"
            elif isinstance(value, Day) or (isinstance(value, int) and name not in MONEY):
                value = str(value)
            elif value is not None and name in MONEY:
                value = f"{value:.2f}"
            else:
                continue
            # An instant is rounded to the second in one form and cut in the other.
            if text[:16] != value[:16]:
                yield f"{name}: shown as {text}, and not {value}"


def checked(what, faults):
    """Says what was compared; what differs is an error."""
    faults = list(faults)
    if faults:
        raise AssertionError(f"{what}: " + "\n  ".join(faults[:10]))


def check_tables(service, office, folder, order):
    """Every sheet in both forms, as each program reads it, and what LibreOffice saves of it."""
    for address, query, rows_of in tables(order):
        cells = 0
        for form in ("xlsx", "ods"):
            began = now()
            path = folder / f"{address.replace('/', '-')}.{form}"
            path.write_bytes(service.ask(f"/v1/sheets/{address}.{form}{query}"))
            between, expected = (began, now()), list(rows_of(service))
            if not expected:
                raise AssertionError(f"{address} has no rows")
            document = office.open(path)
            checked(f"{address}.{form} as shown", hidden(document, expected))
            seen = {"LibreOffice": grid(document), "pandas": by_pandas(path)}
            if form == "xlsx":
                seen["openpyxl"] = by_openpyxl(path)
            saved = office.save(document, folder / f"saved.{form}")
            document.close(True)
            seen["pandas, of what LibreOffice saved"] = by_pandas(saved)
            for program, rows in seen.items():
                checked(f"{address}.{form} by {program}", differences(trimmed(rows), expected, between))
                cells += sum(map(len, rows))
        print(f"  {address}: {len(expected)} rows, {cells} cells read", flush=True)


def check_sum(service, office, folder, order):
    """The sum of an order is a formula: LibreOffice computes it anew when a line changes."""
    path = folder / "sum.xlsx"
    path.write_bytes(service.ask(f"/v1/sheets/orders/{order}.xlsx"))
    told = service.told(f"/v1/orders/{order}")
    document = office.open(path)
    sheet = document.Sheets.getByIndex(0)
    names = [cell for cell in grid(document)[0]]
    packs, cost = names.index("packs"), names.index("cost")
    last = len(grid(document)) - 1
    found = sheet.getCellByPosition(cost, last).Value
    checked("sum", [] if same(found, told["cost_minor"] / 100) else [f"{found}, and not {told['cost_minor']}"])
    sheet.getCellByPosition(packs, 1).Value += 1
    document.calculateAll()
    more = sheet.getCellByPosition(cost, last).Value - found
    line = told["lines"][0]
    each = line["cost_minor"] / line["packs"] / 100
    checked("sum", [] if math.isclose(more, each) else [f"one pack more is {more}, and not {each}"])
    document.close(True)


def check_cells(service, office, folder):
    """Formulas that ask the running server, before and after something was taken."""
    key = service.post("/v1/keys", {"name": "sheet", "role": "read"})["secret"]
    part, job = f"part={ELECTRODE}", f"job={JOB}"
    asked = [("available", part), ("on-hand", part), ("on-order", part), ("order-point", part)]
    asked += [("chance", part), ("chance", job), ("order-by", job)]
    book = openpyxl.Workbook()
    for row, (figure, of) in enumerate(asked, 1):
        call = f'_xlfn.WEBSERVICE("{service.url}/v1/cell/{figure}?{of}&key={key}")'
        book.active.cell(row, 1).value = f"={call}" if figure == "order-by" else f"=VALUE({call})"
    book.save(folder / "live.xlsx")
    document = office.open(folder / "live.xlsx")
    before = told_of_cells(service)
    checked("live cells", cell_differences(asked, grid(document), before))
    service.post("/v1/usage", {"part": ELECTRODE, "what": "took", "torch": "T1"}, Idempotency_Key="sheets-2")
    after = told_of_cells(service)
    if after[0] != before[0] - 1:
        raise AssertionError(f"one was taken of {before[0]}, and {after[0]} are left")
    # It asks again when the file is opened again, and not when it is only computed anew.
    document.close(True)
    document = office.open(folder / "live.xlsx")
    checked("live cells, opened again", cell_differences(asked, grid(document), after))
    document.close(True)
    print(f"  live cells: {dict(zip((f'{figure} {of}' for figure, of in asked), after))}")


def check_templates(service, office, folder):
    """Workbooks to use: filled in, their live cells hold what the API tells, and the file itself is pushed back."""
    key = service.post("/v1/keys", {"name": "workbook", "role": "read"})["secret"]
    stock = {row["part"]: row for row in service.told("/v1/stock?limit=500")["stock"]}
    needs = service.told(f"/v1/jobs/{JOB}/needs")
    for template, column in [("big-job", "available"), ("count-sheet", "on hand")]:
        for form in ("xlsx", "ods"):
            path = folder / f"{template}.{form}"
            path.write_bytes(service.ask(f"/v1/sheets/templates/{template}.{form}"))
            document = office.open(path)
            start, to_fill = document.Sheets.getByName("start"), document.Sheets.getByName("fill-in")
            start.getCellRangeByName("B5").String = key
            if template == "big-job":
                start.getCellRangeByName("B6").String = JOB
            names = [to_fill.getCellByPosition(place, 0).String for place in range(7)]
            to_fill.getCellByPosition(names.index("counted"), 1).Value = 3
            to_fill.getCellByPosition(names.index("counted_at"), 1).String = pushed.as_text(pushed.EVENING)
            filled = office.save(document, folder / f"filled-{template}.{form}")
            document.close(True)
            document = office.open(filled)
            checked(f"{template}.{form}", live_differences(document.Sheets.getByName("live"), column, stock, needs))
            document.close(True)
            told = judged(service, "counts", form, filled.read_bytes())
            if not told["says"].startswith("1 rows: 1 in, 0 already in, 0 need you."):
                raise AssertionError(f"{filled.name}: {told['says']}")
    print("  templates: live cells as the API tells, and what is filled in is pushed back")


def live_differences(live, column, stock, needs):
    rows = [[live.getCellByPosition(place, row) for place in range(5)] for row in range(len(stock) + 5)]
    if rows[0][0].String == "chance without a stop" and not same(rows[0][1].Value, needs["chance_now"]):
        yield f"the chance is {rows[0][1].Value}, and not {needs['chance_now']}"
    header = next(place for place, row in enumerate(rows) if row[0].String == "part")
    place = [cell.String for cell in rows[header]].index(column)
    found = {row[0].String: row[place].Value for row in rows[header + 1 :] if row[0].String}
    wanted = {part: row[column.replace(" ", "_")] for part, row in stock.items()}
    if found != wanted:
        yield f"{column}: {found}, and not {wanted}"


def told_of_cells(service):
    """The same figures by the answers of the API."""
    stock = service.told(f"/v1/stock/{ELECTRODE}")
    line = next(it for it in service.told("/v1/buy-list?all=true")["lines"] if it["subject"] == ELECTRODE)
    needs = service.told(f"/v1/jobs/{JOB}/needs")
    orders = [it["last_order"]["at"] for it in needs["lines"] if it.get("order") and it.get("last_order")]
    by = f"{datetime.fromisoformat(min(orders)):%Y-%m-%d %H:%M}"
    figures = [stock["available"], stock["on_hand"], stock["on_order"], line["order_point"]]
    # The list tells the chance of being short, and a cell that of not being so.
    return [*figures, 1 - line["chance"], needs["chance_now"], by]


def cell_differences(asked, found, expected):
    for (figure, of), (cell,), wanted in zip(asked, found, expected, strict=True):
        if not same(cell, wanted):
            yield f"{figure} {of}: {cell!r}, and not {wanted!r}"


def check_pushed(service, office, folder):
    """Sheets to push: as CSV of our own, as openpyxl writes them, and as LibreOffice saves them."""
    for table, header, rows in pushed.sheets():
        text = io.StringIO()
        csv.writer(text).writerows([header, *[[pushed.as_text(cell) for cell in row] for row in rows]])
        wanted = judged(service, table, "csv", text.getvalue().encode())
        results = {row["result"] for row in wanted["rows"]}
        if len(wanted["rows"]) != len(rows) or "in" not in results:
            raise AssertionError(f"{table}: {wanted['says']}")
        book = openpyxl.Workbook()
        for row in [header, *rows]:
            book.active.append(row)
        path = folder / f"{table}-pushed.xlsx"
        book.save(path)
        document = office.open(path)
        saved = [office.save(document, folder / f"{table}-saved.{form}") for form in ("xlsx", "ods", "csv")]
        document.close(True)
        for path in [path, *saved]:
            found = judged(service, table, path.suffix[1:], path.read_bytes())
            checked(f"{table} from {path.name}", row_differences(found, wanted))
        print(f"  {table}: {wanted['says']}")


def judged(service, table, form, body):
    """What would become of the rows of a file."""
    kind = {"Content_Type": "application/octet-stream", "Accept": "application/json"}
    return json.loads(service.ask(f"/v1/sheets/{table}?name=x.{form}&try=true", body, **kind))


def row_differences(found, wanted):
    if found["says"] != wanted["says"]:
        yield f"{found['says']}, and not {wanted['says']}"
    for one, other in zip(found["rows"], wanted["rows"]):
        if one != other:
            yield f"{one}, and not {other}"


def main(program):
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="sheets-") as folder, contextlib.ExitStack() as stack:
        folder = Path(folder)
        service = stack.enter_context(Service(program, folder))
        office = stack.enter_context(Office(folder))
        order = furnish(service)
        check_tables(service, office, folder, order)
        check_sum(service, office, folder, order)
        check_pushed(service, office, folder)
        check_templates(service, office, folder)
        check_cells(service, office, folder)
    print(f"sheets: all as the API tells, in {time.monotonic() - began:.0f} s")


if __name__ == "__main__":
    main(*sys.argv[1:])
