"""Every paper of the demo, held against its page and against PDF/UA-1.

Starts the demo, signs in as each of its people, opens every screen about a student and
takes PDFs of each kind that a page links to, as each role: one page reads otherwise for a
family than for a clinic. The file is read by programs that did not write it:
qpdf for its syntax, poppler for its typefaces, its title and its tree, pdfua (PyPI) for
the machine-checkable rules of PDF/UA-1, and pikepdf for the tree with its words, which is
compared with the headings, tables, pictures and paragraphs of the page.
"""

from __future__ import annotations

import html
import http.cookiejar
import os
import re
import socket
import subprocess
import sys
import tempfile
import urllib.error
import urllib.parse
import urllib.request

import page as pages
import tree

# Who is offered which paper, as the access table says (X).
OFFERED = {
    "vision teacher": {"card", "summaries", "training"},
    "classroom teacher": {"card"},
    "parent": {"card", "evaluations", "history", "prescription", "report", "summaries", "training"},
    "clinician": {"evaluations", "prescription", "summaries"},
}
# A mother whose child came with a report on paper; the demo does not print her name.
MORE = [("parent", "benedita")]
# Their paper is read off a page of its own, for printing.
PRINTED = {"card", "prescription", "summaries"}
# So many papers of a kind are taken as each role; the demo has more.
EACH = 2
failures: list[str] = []
done = 0


def check(holds: bool, what: str) -> None:
    global done
    done += 1
    if not holds:
        failures.append(what)


def spoiled(name: str, source: str, root: tree.Part) -> None:
    """A page that says something else must not pass: a comparison that cannot fail proves nothing."""
    global done
    ways = {
        "another heading": re.sub(r"<h1>", "<h1>Not ", source, count=1),
        "a paragraph more": source.replace("</h1>", "</h1><p>Said on no paper.</p>", 1),
        "a heading more": source.replace("</main>", "<h2>At the end</h2></main>", 1),
        "a cell changed": re.sub(r"(<td [^>]*>)", r"\1<span>7</span>", source, count=1),
        "a picture more": source.replace(
            "</main>", '<svg role="img"><title>One</title><desc>More</desc></svg></main>', 1
        ),
    }
    kept, before, tried = list(failures), done, 0
    for way, changed in ways.items():
        if changed == source:
            continue
        tried += 1
        failures.clear()
        compare(name, changed, root)
        if not failures:
            kept.append(f"{name}: passes beside a page with {way}")
    failures[:] = kept
    done = before + tried


class Person:
    """A browser with somebody of the demo signed in."""

    def __init__(self, base: str, name: str, password: str) -> None:
        self.base = base
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar()))
        form = self.get("/sign-in").decode()
        fields = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form))
        fields |= {"sign_in": name, "password": password}
        request = urllib.request.Request(
            base + "/sign-in", urllib.parse.urlencode(fields).encode(), {"Origin": base, "Sec-Fetch-Site": "same-origin"}
        )
        self.opener.open(request).read()

    def get(self, path: str) -> bytes:
        return self.opener.open(self.base + path, timeout=60).read()

    def press(self, path: str, ending: str, **fields: str) -> str:
        """Sends the form of a page whose address ends so, its other fields as they are; gives where it leads."""
        form = next(form for form in pages.forms(self.get(path).decode()) if form.action.endswith(ending))
        kept = [(name, value) for name, value in form.form_values() if name not in fields]
        filled = urllib.parse.urlencode(kept + list(fields.items())).encode()
        headers = {"Origin": self.base, "Sec-Fetch-Site": "same-origin"}
        answer = self.opener.open(urllib.request.Request(self.base + form.action, filled, headers))
        return urllib.parse.urlsplit(answer.url).path

    def take(self, path: str):
        return self.opener.open(self.base + path, timeout=120)


def links(text: str) -> list[str]:
    # An escaped `&` has a `#` of its own, so places within a page are cut off afterwards.
    return [html.unescape(href).split("#")[0] for href in re.findall(r'href="(/[^"]*)"', text)]


def papers(person: Person) -> dict[str, str]:
    """The address of every paper that this person is offered, with the page that offers it."""
    found: dict[str, str] = {}
    seen: set[str] = set()
    waiting = ["/today"]
    while waiting:
        at = waiting.pop(0)
        if at in seen:
            continue
        seen.add(at)
        try:
            answer = person.take(at)
        except urllib.error.HTTPError:
            continue
        if not answer.headers.get("content-type", "").startswith("text/html"):
            continue
        for href in links(answer.read().decode()):
            plain = href.split("?")[0]
            if plain.endswith("/paper.pdf"):
                found.setdefault(plain, at)
            elif re.fullmatch(r"/students/[0-9a-f-]+(/(card|prescription|summaries|evaluations(/paper)?|training|history|people)(/[0-9a-f-]{36})?)?", plain):
                waiting.append(plain)
            elif plain.endswith("/training/report"):
                waiting.append(plain)
    return found


def said(text: str) -> str:
    """Words as they are compared: marks without a shape are no letters."""
    return " ".join(text.replace("\u00ad", "").split())


def compare(name: str, source: str, root: tree.Part) -> None:
    """The tree beside the page: headings, tables, pictures, and every paragraph in order."""
    _, main = pages.parse(source)
    all_parts = list(root.walk())
    headings = [(part.kind, said(part.text())) for part in all_parts if re.fullmatch("H[1-6]", part.kind)]
    wanted = [(level, said(text)) for level, text in pages.headings(main)]
    check(headings == wanted, f"{name}: headings are {headings}, the page has {wanted}")
    levels = [int(kind[1]) for kind, _ in headings]
    check(bool(levels) and levels[0] == 1, f"{name}: the first heading is of the first level")
    check(all(b <= a + 1 for a, b in zip(levels, levels[1:])), f"{name}: a level of headings is left out: {levels}")

    found = [part for part in all_parts if part.kind == "Table"]
    tables = pages.tables(main)
    check(len(found) == len(tables), f"{name}: {len(found)} tables, the page has {len(tables)}")
    for part, table in zip(found, tables):
        compare_table(f"{name}, {table['caption']}", part, table)

    drawn = [part for part in all_parts if part.kind == "Figure"]
    pictures = pages.pictures(main)
    check(len(drawn) == len(pictures), f"{name}: {len(drawn)} pictures, the page has {len(pictures)}")
    for part, (title, description) in zip(drawn, pictures):
        check(title in part.alternative and description in part.alternative, f"{name}: a picture is told as on its page")
        check(part.boxed, f"{name}: a picture says where it stands")

    # Reading order: each thing said on the page is said on paper, one after the other.
    whole = said(root.text())
    at = 0
    for words in pages.paragraphs(main):
        needle = said(words)
        place = whole.find(needle, at)
        if place < 0 and whole.replace(" ", "").find(needle.replace(" ", ""), 0) >= 0:
            continue  # set apart on the page without a space between
        check(place >= 0, f"{name}: not on paper, or not in its place: {needle!r}")
        at = max(at, place)


def compare_table(name: str, part: tree.Part, table: dict) -> None:
    caption = [one for one in part.parts if one.kind == "Caption"]
    check(bool(caption) and caption[0].text().startswith(said(table["caption"])), f"{name}: the caption")
    heads = [one for one in part.walk() if one.kind == "TH"]
    check(all(one.scope in ("Row", "Column") for one in heads), f"{name}: every header cell says what it heads")
    rows = [one for one in part.walk() if one.kind == "TR"]
    check(bool(rows) and all(any(cell.kind == "TH" for cell in row.parts) for row in rows), f"{name}: a row has a head")
    columns = [one.text() for one in heads if one.scope == "Column"]
    if columns:
        check(columns == table["heads"], f"{name}: heads are {columns}, not {table['heads']}")
        cells = [[said(cell.text()) for cell in row.parts] for row in rows[1:]]
        check(cells == [[said(cell) for cell in row] for row in table["rows"]], f"{name}: cells {cells} for {table['rows']}")
        check({sum(cell.across for cell in row.parts) for row in rows} == {len(table["heads"])}, f"{name}: ragged")
    else:
        # Turned: the head of each row across, then a line for each further column.
        lines = [[said(cell.text()) for cell in row.parts] for row in rows]
        wanted = []
        for row in table["rows"]:
            wanted.append([said(row[0])])
            wanted += [[head, said(cell)] for head, cell in zip(table["heads"][1:], row[1:])]
        check(lines == wanted, f"{name}: turned, {lines} for {wanted}")
        check({sum(cell.across for cell in row.parts) for row in rows} == {2}, f"{name}: ragged when turned")


def hold(name: str, path: str, size: str) -> None:
    """What holds for every paper, whatever it says."""
    syntax = subprocess.run(["qpdf", "--check", path], capture_output=True, text=True, check=False)
    check(syntax.returncode == 0, f"{name}: qpdf: {syntax.stdout}{syntax.stderr}")
    told = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
    facts = dict(line.split(":", 1) for line in told.splitlines() if ":" in line)
    check(facts["Tagged"].strip() == "yes", f"{name}: not tagged")
    check(bool(facts["Title"].strip()), f"{name}: no title")
    check(facts["PDF version"].strip() == "1.7", f"{name}: PDF {facts['PDF version']}")
    fonts = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout.splitlines()[2:]
    check(bool(fonts), f"{name}: no typeface")
    for line in fonts:
        # name … type encoding emb sub uni object ID
        embedded, subset, letters = line.split()[-5:-2]
        check((embedded, subset, letters) == ("yes", "yes", "yes"), f"{name}: typeface {line}")
    rules = subprocess.run([sys.executable, "-m", "pdfua", "check", path], capture_output=True, text=True, check=False)
    check(rules.returncode == 0, f"{name}: PDF/UA-1: {rules.stdout}{rules.stderr}")
    check(sizes(path) >= (17.9 if size == "large" else 11.9), f"{name}: the running text is too small")


def sizes(path: str) -> float:
    """The size that most letters are set in, by poppler's own measure."""
    told = subprocess.run(["pdftotext", "-bbox-layout", path, "-"], capture_output=True, text=True, check=True).stdout
    heights: dict[float, int] = {}
    for low, high, word in re.findall(r'<word [^>]*yMin="([\d.]+)"[^>]*yMax="([\d.]+)">([^<]*)</word>', told):
        height = round(float(high) - float(low), 1)
        heights[height] = heights.get(height, 0) + len(word)
    # Ascent and descent of the typeface span 1.22 of its size; poppler gives that box.
    return max(heights, key=heights.get) / 1.2 if heights else 0.0


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def main() -> int:
    program = sys.argv[1]
    keep = os.environ.get("PAPERS")
    with tempfile.TemporaryDirectory() as scratch:
        demo = subprocess.Popen(
            [program, "demo", "--listen", f"127.0.0.1:{free_port()}", "--data", scratch + "/data", "--sign-in-burst", "1000"],
            stdout=subprocess.PIPE, text=True, env=os.environ | {"FARPOINT_LOG": "error"},
        )
        try:
            base, people = started(demo)
            walk(base, people, keep or scratch)
            ended(base, people, keep or scratch)
        finally:
            demo.terminate()
            demo.wait()
    for one in failures[:40]:
        print(f"FAILED {one[:2_000]}")
    print(f"{done - len(failures)} passed, {len(failures)} failed")
    return 1 if failures else 0


def started(demo) -> tuple[str, list[tuple[str, str, str]]]:
    """The address, and role, sign-in name and password of each person that the demo prints."""
    printed = ""
    for line in demo.stdout:
        printed += line
        if "Listening on " in line:
            break
    base = re.search(r"Listening on (\S+)", printed)[1]
    password = re.search(r"password: (.+)", printed)[1].strip()
    people = re.findall(r"^ {2}(\S.*?) {2,}(\S+)$", printed, re.M) + MORE
    return base, [(role, name, password) for role, name in people]


def kind_of(address: str) -> str:
    return "report" if "/evaluations/paper/" in address else address.split("/")[3]


def walk(base: str, people: list[tuple[str, str, str]], keep: str) -> None:
    """Some papers of each kind as each role; of each kind one in both sizes."""
    taken: dict[tuple[str, str], int] = {}
    known: set[tuple[str, str]] = set()
    for role, name, password in people:
        person = Person(base, name, password)
        for address in papers(person):
            kind = kind_of(address)
            if (role, address) in known or taken.get((role, kind), 0) >= EACH:
                continue
            known.add((role, address))
            taken[role, kind] = taken.get((role, kind), 0) + 1
            for size in ["large", "standard"] if taken[role, kind] == 1 else ["large"]:
                one(person, role, address, size, keep)
    for role in {role for role, _, _ in people} | set(OFFERED):
        kinds = {kind for other, kind in taken if other == role}
        check(kinds == OFFERED.get(role, set()), f"the {role} of the demo is offered papers of {sorted(kinds)}")
    for (role, kind), count in sorted(taken.items()):
        print(f"{role:20} {kind:14} {count}")


def ended(base: str, people: list[tuple[str, str, str]], keep: str) -> None:
    """A prescription that was superseded and one that was entered in error say so on every page."""
    named = {role: Person(base, name, password) for role, name, password in reversed(people)}
    password = people[0][2]
    clinician, parent = named["clinician"], named["parent"]
    old = next(at for at in papers(parent) if kind_of(at) == "prescription").removesuffix("/paper.pdf")
    draft = clinician.press(f"{old}/correct", "/supersede", supersede_reason="A device was left out.")
    clinician.press(draft, draft)
    new = clinician.press(f"{draft}/preview", "/sign", password=password)
    clinician.press(f"{new}/correct", "/error", error_reason="It is another child's.", error_password=password)
    for address, words in [(old, "Superseded"), (new, "Entered in error")]:
        for size in ["large", "standard"]:
            path = one(parent, words.lower(), f"{address}/paper.pdf", size, keep)
            stamp = pages.stamp(parent.get(f"{address}/print").decode())
            check(stamp.startswith(words), f"the page of what is {words.lower()} says {stamp!r}")
            count = int(re.search(r"Pages: +(\d+)", shell("pdfinfo", path))[1])
            for page in range(1, count + 1):
                text = " ".join(shell("pdftotext", "-f", str(page), "-l", str(page), path, "-").split())
                check(stamp in text, f"{words}, {size}: page {page} does not say so")


def shell(*command: str) -> str:
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def one(person: Person, role: str, address: str, size: str, keep: str) -> str:
    """Takes a paper and holds it against its page; gives where it lies."""
    kind = kind_of(address)
    name = f"{kind} for the {role}, {size}"
    answer = person.take(f"{address}?size={size}")
    path = os.path.join(keep, f"{role.replace(' ', '-').lower()}-{kind}-{size}-{address.split('/')[-2][-6:]}.pdf")
    with open(path, "wb") as file:
        file.write(answer.read())
    check(answer.headers["content-type"] == "application/pdf", f"{name}: {answer.headers['content-type']}")
    called = re.search(r'filename="([^"]*)"', answer.headers["content-disposition"])[1]
    check(re.fullmatch(r"[A-Z_]{1,2}-\d{4}-\d\d-\d\d\.pdf", called) is not None, f"{name}: the file is called {called}")
    hold(name, path, size)
    page = address.removesuffix("/paper.pdf") + ("/print" if kind in PRINTED else "")
    source, root = person.get(page).decode(), tree.read(path)
    compare(name, source, root)
    spoiled(name, source, root)
    return path


if __name__ == "__main__":
    sys.exit(main())
