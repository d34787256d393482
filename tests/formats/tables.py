"""Tables, read by Python's own reader and by csv-parse."""

import csv

import others

RISKY = ("=", "+", "-", "@", "\t", "\r")


def read(paths, run_by_spreadsheets=True):
    """Faults of these tables, and the rows of each."""
    faults, tables = [], {}
    beside = others.node(paths)
    for path in paths:
        with path.open(newline="", encoding="utf-8") as file:
            rows = list(csv.reader(file, strict=True))
        tables[path.stem] = rows
        head, body = rows[0], rows[1:]
        if beside[path].get("found") != rows:
            faults.append(f"{path.name}: csv-parse reads it otherwise: {beside[path].get('refused', 'other rows')}")
        if path.read_bytes().count(b"\r\n") < len(rows):
            faults.append(f"{path.name}: a row that does not end in CR LF")
        for row in body:
            if len(row) != len(head):
                faults.append(f"{path.name}: a row of {len(row)} fields under a head of {len(head)}")
            for cell in row:
                if run_by_spreadsheets and cell.lstrip(" \n").startswith(RISKY) and not is_number(cell):
                    faults.append(f"{path.name}: a spreadsheet would run {cell[:20]!r}")
    return faults, tables


def of_sample(folder):
    """The tables of the sample: every one with its head and with rows."""
    paths = sorted(folder.glob("*.csv"))
    faults, tables = read(paths)
    if len(paths) < 15:
        faults.append(f"{len(paths)} tables: the tests wrote something else")
    for name, rows in tables.items():
        if rows[0][0] != "schema" or len(rows) < 2:
            faults.append(f"{name}: no head or no rows")
    path = folder / "cut" / "cut.csv"
    path.parent.mkdir(exist_ok=True)
    # A row that lost its last cell.
    path.write_bytes(b'"a","b"\r\n"1","2"\r\n"3"\r\n')
    print(f"\n{len(paths)} tables read by csv and by csv-parse")
    return faults + others.refuses(path, "a ragged table")


def is_number(cell):
    try:
        float(cell)
        return True
    except ValueError:
        return False
