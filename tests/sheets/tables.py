"""What stands in each sheet, worked out from the answers of the API. A column is the field of the same name; what is
otherwise is told here."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

ELECTRODE = "WLa20-2.4"
JOB, KIT, TORCH, COURSE, PROCEDURE = "R-118", "K-24G", "T1", "course-0912", "PROC-07"

# One that does not go with what is fitted.
COLLET = "collet-1.6"


# That of the demo's shop.
ZONE = ZoneInfo("America/Halifax")


class Instant(str):
    """An instant as RFC 3339 writes it; workbooks show what the clock of the shop did."""

    def moment(self):
        return datetime.fromisoformat(self).astimezone(ZONE).replace(tzinfo=None)


class Day(str):
    """A day as ISO 8601 writes it."""

    def moment(self):
        return datetime.fromisoformat(self)


def furnish(service):
    """What the demo's shop does not have: an order, a course, a procedure, and text that looks like a formula."""
    line = {"part": ELECTRODE, "pack_size": 10, "packs": 3}
    collets = {"part": "collet-2.4", "pack_size": 5, "packs": 1}
    order = {"supplier": "quayhead", "lines": [line, collets]}
    number = service.post("/v1/orders", order, Idempotency_Key="sheets-1")["number"]
    starts = date.today() + timedelta(weeks=12)
    course = {"code": COURSE, "kit": KIT, "starts": str(starts), "days": 5, "heads": 12, "stations": 6}
    service.post("/v1/courses", {**course, "minutes_a_day": 90})
    requires = {"classes": ["WLa20"], "diameters": ["2.4 mm"]}
    service.post("/v1/procedures", {"code": PROCEDURE, "responsible": "owner", "requires": requires})
    service.post("/v1/receipts", {"part": ELECTRODE, "quantity": 10, "lot": "L-9"}, Idempotency_Key="sheets-0")
    part = {"code": COLLET, "kind": "collet", "diameter": "1.6 mm", "family": "large", "length": "standard"}
    service.post("/v1/parts", {**part, "note": "=1+1"})
    return number


def _all(service, path, name, query="limit=500"):
    """Every page of a list."""
    rows, after = [], ""
    while after is not None:
        page = service.told(f"{path}?{query}{after and '&after=' + after}")
        rows += page[name]
        after = page.get("next")
    return rows


def _main(minor):
    return None if minor is None else minor / 100


def _yes(is_so):
    return "yes" if is_so else "no"


def _instants(rows, *names, **others):
    """Rows whose fields of those names are instants; others are fields by another name."""
    for row in rows:
        row = {**row, **{column: row.get(field) for column, field in others.items()}}
        yield {**row, **{name: Instant(row[name]) for name in names if row.get(name)}}


def _entries(rows, **others):
    """Rows of the ledger, whose instants and names are those of the sheets that are pushed."""
    rows = _instants(rows, *(column for column in others if others[column] == "at"), "received_at", **others)
    return [{**row, "reversed": _yes(row["reversed"])} for row in rows]


def _usage(service):
    for row in _entries(_all(service, "/v1/usage", "usage"), when="at", row_id="entry"):
        minutes = row["arc_minutes"]
        nothing = {name: row[name] or None for name in ("grinds", "cut_backs", "starts")}
        yield {**row, **nothing, "arc": f"{minutes}m" if minutes else None}


def _stock(service):
    rows = _instants(_all(service, "/v1/stock", "stock"), "counted_at")
    return [{**row, "drawers": " ".join(row["drawers"])} for row in rows]


def _buy_list(service):
    for line in service.told("/v1/buy-list")["lines"]:
        bought = line.get("purchase") or {}
        price = bought.get("price_minor")
        by = bought.get("order_by")
        yield {
            **line,
            **{name: bought.get(name) for name in ("supplier", "packs", "pack_size", "currency")},
            "price": _main(price),
            "cost": _main(price * bought["packs"]) if bought else None,
            "order_by": by and f"{datetime.fromisoformat(by):%Y-%m-%d %H:%M}",
        }


def _order(service, number):
    order = service.told(f"/v1/orders/{number}")
    shared = {name: order[name] for name in ("supplier", "state", "currency", "site")}
    shared["order"] = order["number"]
    for line in order["lines"]:
        name = service.told(f"/v1/parts/{line['part']}")["name"]
        cost = line["cost_minor"]
        yield {**shared, **line, "name": name, "price": _main(cost / line["packs"]), "cost": _main(cost)}
    if order["freight_minor"]:
        yield {**shared, "name": "freight", "cost": _main(order["freight_minor"])}


def _needs(service, path):
    told = service.told(path)
    needs = told.get("needs", told)
    by_part = {part["part"]: part for part in told.get("parts", [])}
    for line in needs["lines"]:
        order = line.get("order") or {}
        more = line.get("more") or []
        packs = [f"{it['packs']} of {it['pack_size']} from {it['supplier']}" for it in more]
        part = by_part.get(line["part"], {})
        yield {
            **line,
            **{name: order.get(name) for name in ("supplier", "packs", "pack_size", "currency")},
            "cost_minor": order["cost_minor"] + sum(it["cost_minor"] for it in more) if order else None,
            "rung": line["rung"]["number"],
            "more": "; ".join(packs),
            "job": needs["job"],
            "course": needs["job"],
            "per_student_day": part.get("per_student_day"),
            "worth_minor": part.get("worth_minor"),
        }


def _offers(service):
    for offer in _all(service, "/v1/offers", "offers"):
        breaks = [f"{it['packs_min']}:{it['price_minor'] / 100:.2f}" for it in offer.get("breaks", [])]
        until = offer.get("none_until")
        price = _main(offer["price_minor"])
        yield {**offer, "offer": offer["id"], "price": price, "breaks": "; ".join(breaks), "none_until": until and Day(until)}


def _wear(service):
    told = service.told("/v1/forecasts?arc=34h")
    for line in told["forecasts"]:
        out = line.get("run_out") or {}
        ends = {f"run_out_{name}": out.get(name) for name in ("early", "median", "late")}
        ends = {name: day and Day(day) for name, day in ends.items()}
        yield {**line, **ends, "rung": line["rung"]["number"], "site": told["site"], "group": told["group"]}


def _kits(service):
    for kit in _all(service, "/v1/kits", "kits"):
        for line in kit["parts"]:
            yield {"kit": kit["code"], "name": kit["name"], **line, "or": " ".join(line.get("or", []))}


def _check(service):
    told = service.told(f"/v1/torches/{TORCH}/kits/{KIT}")
    for line in told["lines"]:
        next_, of = line.get("next") or {}, {name: told[name] for name in ("torch", "kit", "state")}
        yield {
            **of,
            **line,
            "kits": told["count"],
            "or": " ".join(other["part"] for other in line.get("or", [])),
            "borrow_from": " ".join(line.get("borrow_from", [])),
            "next_supplier": next_.get("supplier"),
            "next_pieces": next_["packs"] * next_["pack_size"] if next_ else None,
            "next_arrives": Day(next_["arrives"]) if next_ else None,
        }


def _kit_count(service):
    told = service.told(f"/v1/kits/{KIT}/count")
    wants = [f"{it['quantity']} {it['part']}" for it in told["next_kit_wants"]]
    gains = [it["part"] for it in told["one_more"]]
    return [{**told, "next_kit_wants": "; ".join(wants), "one_more_of": " ".join(gains)}]


def _match(service):
    told = service.told(f"/v1/procedures/{PROCEDURE}/match")
    shared = {name: told[name] for name in ("procedure", "revision", "site", "state")}
    for row in told["rows"]:
        lots = [f"{it['lot']} ({it['quantity']})" for it in row["lots"]]
        yield {**row, **shared, "stub": _yes(row["stub"]), "lots": "; ".join(lots)}


def _track_record(service):
    told = service.told("/v1/track-record")
    shared = {name: told[name] for name in ("period", "ahead")}
    for record in told["records"]:
        for score in [record["own"], *record["methods"]]:
            own = score["method"] == record["own"]["method"]
            row = {name: record[name] for name in ("part", "driver", "periods", "forecasts")}
            row |= {name: Day(record[name]) for name in ("from", "to")}
            for place, share in enumerate((50, 80, 90)):
                row[f"held_{share}"] = score["ranges"][place]["held"]
                row[f"whole_pieces_{share}"] = score["ranges"][place]["in_whole_pieces"]
            row["held_90_error"] = score["ranges"][2]["error"]
            row |= {f"loss_{share}": score["losses"][place]["loss"] for place, share in enumerate((50, 90, 95))}
            best = bool(record["best"]) and record["best"][-1]["method"] == score["method"]
            said = {name: record[name] for name in ("verdict", "says")} if own else {}
            yield {**shared, **row, **said, "method": score["method"], "best_95": _yes(best)}
    for part in told["cannot_tell"]:
        yield {**shared, "part": part["part"], "says": part["why"]}


def _advice(service):
    told = service.told("/v1/electrodes/advice?current=125&polarity=DCEN")
    shared = {name: told.get(name) for name in ("amps", "polarity", "wave", "class")}
    for verdict in told["verdicts"]:
        of = {name: verdict[name] for name in ("diameter", "column", "verdict", "says")}
        of["recommended"] = _yes(verdict["recommended"])
        for table in verdict["tables"] or [{}]:
            held = {name: table.get(name) for name in ("amps_low", "amps_high", "position", "note")}
            yield {**shared, **of, **held, "source": table.get("table")}


def _fit(service):
    told = service.post(f"/v1/torches/{TORCH}/fit?try=1", {"parts": [COLLET]})
    for fault in told["faults"]:
        of = {"row": fault["what"], "seat": fault["offered"], "on": fault.get("on"), "says": fault["says"]}
        yield {"torch": TORCH, "state": told["state"], **of, "parts": " ".join(fault["parts"])}
    for number, way in enumerate(told["ways"], 1):
        for choice in way["choices"]:
            for part in choice["parts"]:
                of = {"row": f"way {number}", "seat": choice["seat"], "parts": part["part"], "says": way["says"]}
                more = {"available": part["available"], "in_stock": _yes(way["in_stock"])}
                yield {"torch": TORCH, "state": told["state"], **of, **more}


def tables(order):
    """Every sheet: its address without its form, its query, and what gives its rows."""
    listed = {
        "stock": _stock,
        "buy-list": _buy_list,
        "kits": _kits,
        "offers": _offers,
        "parts": lambda service: _instants(_all(service, "/v1/parts", "parts"), part="code"),
        "movements": lambda service: _instants(
            _all(service, "/v1/movements", "movements"), "at", "received_at", movement="id"
        ),
        "usage": _usage,
        "counts": lambda service: _entries(_all(service, "/v1/counts", "counts"), counted_at="at", row_id="entry"),
        "receipts": lambda service: _entries(
            _all(service, "/v1/movements", "movements", "kind=receipt"), when="at", row_id="entry", qty="quantity"
        ),
        "warnings": lambda service: _instants(
            _all(service, "/v1/warnings", "warnings"), "opened_at", "told_at", warning="id"
        ),
        "wear": _wear,
        "track-record": _track_record,
        "electrodes/advice": _advice,
        f"orders/{order}": lambda service: _order(service, order),
        f"jobs/{JOB}/needs": lambda service: _needs(service, f"/v1/jobs/{JOB}/needs"),
        f"courses/{COURSE}/needs": lambda service: _needs(service, f"/v1/courses/{COURSE}/needs"),
        f"kits/{KIT}/count": _kit_count,
        f"torches/{TORCH}/kits/{KIT}/check": _check,
        f"torches/{TORCH}/fit": _fit,
        f"procedures/{PROCEDURE}/match": _match,
    }
    queries = {
        "wear": "?arc=34h",
        "electrodes/advice": "?current=125&polarity=DCEN",
        f"torches/{TORCH}/fit": f"?parts={COLLET}",
    }
    return [(address, queries.get(address, ""), rows) for address, rows in listed.items()]
