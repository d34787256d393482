"""The structure tree of a PDF, read by a library that did not write it."""

from __future__ import annotations

import subprocess
from dataclasses import dataclass, field

import pikepdf


@dataclass
class Part:
    """A part of the tree: its kind, its attributes, the words drawn for it, its parts."""

    kind: str
    alternative: str = ""
    scope: str = ""
    across: int = 1
    boxed: bool = False
    words: list[str] = field(default_factory=list)
    parts: list["Part"] = field(default_factory=list)
    # Words and parts in the order in which they are read.
    order: list = field(default_factory=list)

    def text(self) -> str:
        said = [one if isinstance(one, str) else one.text() for one in self.order]
        return " ".join(" ".join(said).split())

    def walk(self):
        yield self
        for part in self.parts:
            yield from part.walk()


def read(path: str) -> Part:
    """The whole tree; every mark of a page must be in it once, or be an artifact."""
    with pikepdf.open(path) as pdf:
        words = {}
        marked = set()
        for number, page in enumerate(pdf.pages):
            for mark, text in marked_words(page).items():
                words[(page.objgen, mark)] = text
                marked.add((page.objgen, mark))
        taken = set()
        root = element(pdf.Root.StructTreeRoot, "Root", words, taken, None)
        if taken != marked:
            raise ValueError(f"{len(marked - taken)} marks are in no part, {len(taken - marked)} parts have no mark")
        return root


def element(node, kind, words, taken, page) -> Part:
    part = Part(kind, alternative=str(node.get("/Alt", "")))
    page = node.get("/Pg", page)
    attributes = node.get("/A")
    listed = attributes if isinstance(attributes, pikepdf.Array) else [attributes] if attributes is not None else []
    for one in listed:
        if isinstance(one, pikepdf.Dictionary):
            part.scope = str(one.get("/Scope", part.scope)).lstrip("/")
            part.across = int(one.get("/ColSpan", part.across))
            part.boxed = part.boxed or "/BBox" in one
    children = node.get("/K")
    if children is None:
        return part
    for child in children if isinstance(children, pikepdf.Array) else [children]:
        if isinstance(child, pikepdf.Dictionary) and "/S" in child:
            inner = element(child, str(child.S).lstrip("/"), words, taken, page)
            part.parts.append(inner)
            part.order.append(inner)
        else:
            on = page
            if isinstance(child, pikepdf.Dictionary):
                on = child.get("/Pg", page)
                child = child.MCID
            key = (on.objgen, int(child))
            if key in taken:
                raise ValueError(f"mark {key} stands in two parts")
            taken.add(key)
            part.words.append(words.get(key, ""))
            part.order.append(words.get(key, ""))
    return part


def marked_words(page) -> dict[int, str]:
    """The words of each mark of a page, by the letters that its typefaces name."""
    fonts = {name: to_unicode(font) for name, font in page.get("/Resources", {}).get("/Font", {}).items()}
    out: dict[int, str] = {}
    stack: list = []
    letters = {}
    for operands, operator in pikepdf.parse_content_stream(page):
        name = str(operator)
        if name in ("BDC", "BMC"):
            mark = None
            if str(operands[0]) == "/Artifact":
                mark = "artifact"
            elif name == "BDC" and isinstance(operands[1], pikepdf.Dictionary) and "/MCID" in operands[1]:
                mark = int(operands[1].MCID)
                out.setdefault(mark, "")
            stack.append(mark)
        elif name == "EMC":
            stack.pop()
        elif name == "Tf":
            letters = fonts.get(str(operands[0]), {})
        elif name in ("Tj", "TJ", "Do", "S", "f", "f*", "B", "B*"):
            mark = next((one for one in reversed(stack) if one is not None), None)
            if mark is None:
                raise ValueError(f"{name} is drawn outside every mark")
            if isinstance(mark, int) and name in ("Tj", "TJ"):
                # An actual text inside a mark stands for its glyphs; the letters are enough here.
                out[mark] += shown(operands[0], letters)
        elif name in ("T*", "Td", "Tm", "ET"):
            mark = next((one for one in reversed(stack) if one is not None), None)
            if isinstance(mark, int) and out[mark] and not out[mark].endswith(" "):
                out[mark] += "\u0000"
    # A new piece of text is not a new word; the space between two words is drawn.
    return {mark: text.replace("\u0000", "") for mark, text in out.items()}


def shown(operand, letters) -> str:
    pieces = operand if isinstance(operand, pikepdf.Array) else [operand]
    out = ""
    for piece in pieces:
        if isinstance(piece, pikepdf.String):
            codes = bytes(piece)
            out += "".join(letters.get(codes[at : at + 2], "\ufffd") for at in range(0, len(codes), 2))
    return out


def to_unicode(font) -> dict[bytes, str]:
    """What each code of a typeface means."""
    letters: dict[bytes, str] = {}
    source = font.get("/ToUnicode")
    if source is None:
        raise ValueError("a typeface does not say which letters it draws")
    block = None
    for operands, operator in pikepdf.parse_content_stream(source):
        name = str(operator)
        if name == "endbfchar":
            values = [bytes(value) for value in operands]
            for code, text in zip(values[::2], values[1::2]):
                letters[code] = text.decode("utf-16-be")
        elif name == "endbfrange":
            for low, high, first in zip(operands[::3], operands[1::3], operands[2::3]):
                low, high = int.from_bytes(bytes(low), "big"), int.from_bytes(bytes(high), "big")
                start = bytes(first).decode("utf-16-be")
                for step in range(high - low + 1):
                    letters[(low + step).to_bytes(2, "big")] = start[:-1] + chr(ord(start[-1]) + step)
    return letters


def poppler_struct(path: str) -> list[tuple[int, str]]:
    """Depth and kind of every part, as poppler prints them."""
    told = subprocess.run(["pdfinfo", "-struct", path], capture_output=True, text=True, check=True).stdout
    lines = []
    for line in told.splitlines():
        words = line.strip()
        if words and not words.startswith(("/", "Object")):
            lines.append((len(line) - len(line.lstrip()), words.split()[0]))
    return lines
