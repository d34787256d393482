"""Archives, opened by Python's zipfile and by yauzl, and all that is in them.

Every hash of the manifest is computed anew; the tables are read by two readers and
held against the JSON beside them; the resources of FHIR are put to both validators; each
paper is a PDF that pikepdf reads and pdfua finds no fault with.
"""

import hashlib
import json
import subprocess
import sys
import zipfile
from pathlib import Path, PurePosixPath

import others
import pikepdf
import tables



def read(folder, accepts):
    """Faults of all archives; `accepts` puts bundles to the validators."""
    paths = sorted(folder.glob("*.zip"))
    beside = others.node(paths)
    faults, bundles, papers = [], [], []
    names = {path.stem for path in paths}
    if names != {"record-teacher", "record-parent", "record-clinician", "installation"}:
        faults.append(f"archives {sorted(names)}: the tests wrote something else")
    for path in paths:
        into = folder / "unpacked" / path.stem
        faults += [f"{path.name}: {fault}" for fault in unpack(path, into, beside[path])]
        manifest = json.loads((into / "manifest.json").read_text())
        if path.stem == "installation":
            faults += [f"{path.name}: {fault}" for fault in installation(into, manifest)]
        else:
            faults += [f"{path.name}: {fault}" for fault in record(into, path.stem)]
            bundles += sorted((into / "fhir").glob("*.json"))
            papers += sorted((into / "papers").glob("*.pdf"))
    print(f"\n{len(paths)} archives opened by zipfile and by yauzl, every hash computed anew")
    faults += accepts(bundles)
    if len(papers) < 10:
        faults.append(f"{len(papers)} papers in the archives: the tests wrote something else")
    for path in papers:
        faults += [f"{path.parent.parent.name}, {path.name}: {fault}" for fault in paper(path)]
    print(f"{len(papers)} papers in the archives read by pikepdf and held against PDF/UA-1 by pdfua")
    return faults + broken(folder, paths[0], papers)


def unpack(path, into, beside):
    """Unpacks a zip; faults of its names, hashes and manifest."""
    faults, hashes = [], {}
    with zipfile.ZipFile(path) as archive:
        if archive.testzip() is not None:
            faults.append(f"zipfile finds {archive.testzip()} broken")
        for name in archive.namelist():
            if name in hashes:
                faults.append(f"{name} is there twice")
            parts = PurePosixPath(name).parts
            if name.startswith("/") or ".." in parts or "\\" in name:
                faults.append(f"{name} climbs out")
                continue
            content = archive.read(name)
            hashes[name] = hashlib.sha256(content).hexdigest()
            (into / name).parent.mkdir(parents=True, exist_ok=True)
            (into / name).write_bytes(content)
    if beside.get("found") != hashes:
        faults.append(f"yauzl reads it otherwise: {beside.get('refused', 'other files')}")
    manifest = json.loads((into / "manifest.json").read_text())
    listed = {one["path"]: one for one in manifest["files"]}
    if set(listed) | {"manifest.json"} != set(hashes):
        faults.append(f"the manifest lists {sorted(set(listed) ^ set(hashes))} otherwise")
    for name, one in listed.items():
        if one["sha256"] != hashes.get(name) or one["bytes"] != (into / name).stat().st_size:
            faults.append(f"{name} is not what the manifest says")
    return faults


def record(into, name):
    """What one reader took along: tables beside JSON, and a word for every row."""
    exact = json.loads((into / "json/record.json").read_text())["tables"]
    paths = sorted((into / "csv").glob("*.csv"))
    # The parent asked for tables for a spreadsheet, the others for a program.
    spreadsheet = name == "record-parent"
    faults, found = tables.read(paths, spreadsheet)
    if set(found) != set(exact):
        faults.append(f"tables {sorted(set(found) ^ set(exact))} are not in both")
    rows = 0
    for table, (head, *body) in found.items():
        rows += len(body)
        if len(body) != len(exact[table]) or any(set(head) != set(one) for one in exact[table]):
            faults.append(f"{table}: other rows in the JSON")
        for row, one in zip(body, exact[table]):
            for column, cell in zip(head, row):
                if not same(cell, one[column], spreadsheet):
                    faults.append(f"{table}, {column}: {cell!r} and {one[column]!r}")
    addresses = set()
    for path in sorted((into / "fhir").glob("*.json")):
        addresses |= {entry["fullUrl"] for entry in json.loads(path.read_text())["entry"]}
    told_faults, told = tables.read([into / "fhir" / "rows.csv"])
    head, *said = told["rows"]
    faults += told_faults
    if len(said) != rows:
        faults.append(f"{rows} rows, and {len(said)} are said by FHIR or have a reason")
    for one in (dict(zip(head, row)) for row in said):
        if bool(one["resource"]) == bool(one["reason"]) or (one["resource"] and one["resource"] not in addresses):
            faults.append(f"row {one} has neither a resource that is there nor a reason")
    return faults


def same(cell, value, spreadsheet):
    if value is None:
        return cell == ""
    if isinstance(value, bool):
        return cell == str(int(value))
    if isinstance(value, (int, float)):
        return float(cell) == value
    return cell == value or (spreadsheet and cell == f"'{value}")


def installation(into, manifest):
    """Every line of every table is JSON, as long as the head above it."""
    faults, count = [], 0
    for path in sorted((into / "tables").glob("*.jsonl")):
        lines = [json.loads(line) for line in path.read_text().splitlines()]
        count += len(lines) - 1
        if any(len(line) != len(lines[0]) for line in lines):
            faults.append(f"{path.name}: a row that is not as long as its head")
    if manifest["kind"] != "installation" or count < 50 or not any((into / "attachments").iterdir()):
        faults.append(f"{manifest['kind']} with {count} rows: the tests wrote something else")
    return faults


def paper(path):
    """Faults of a PDF: its syntax, its tags, the rules of PDF/UA-1."""
    with pikepdf.open(path) as pdf:
        faults = list(map(str, pdf.check_pdf_syntax()))
        if not (pdf.Root.MarkInfo.Marked and pdf.Root.Lang and pdf.Root.StructTreeRoot.K):
            faults.append("not tagged, or without a language")
    rules = pdfua(path)
    return faults + ([] if rules.returncode == 0 else [f"PDF/UA-1: {rules.stdout}{rules.stderr}"])


def pdfua(path):
    return subprocess.run([sys.executable, "-m", "pdfua", "check", path], capture_output=True, text=True, check=False)


def broken(folder, archive, papers):
    """A flipped byte in a zip and a PDF without its tags are noticed."""
    faults = []
    path = folder / "cut" / "cut.zip"
    path.parent.mkdir(exist_ok=True)
    raw = bytearray(archive.read_bytes())
    raw[len(raw) // 2] ^= 1
    path.write_bytes(raw)
    try:
        whole = zipfile.ZipFile(path).testzip() is None
    except (zipfile.BadZipFile, OSError):
        whole = False
    if whole:
        faults.append("zipfile takes a flipped byte")
    path.write_bytes(raw[: len(raw) // 2])
    faults += others.refuses(path, "half an archive")
    if papers:
        untagged = folder / "cut" / "cut.pdf"
        with pikepdf.open(papers[0]) as pdf:
            del pdf.Root.StructTreeRoot
            pdf.save(untagged)
        if pdfua(untagged).returncode == 0:
            faults.append("pdfua takes a paper without tags")
    return faults
