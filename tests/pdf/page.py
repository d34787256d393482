"""A page as a browser reads it: what its paper has to say, in order."""

from __future__ import annotations

import lxml.html

# What a style sheet for paper hides, and what is never printed.
# What a document has become stands in a frame of its own over its paper.
CLASSES = {"no-print", "stamp", "button", "crumbs", "flash", "red-flag", "section-nav", "step-button"}
HIDDEN = {"script", "style", "template", "form", "button", "nav", "input"}


def parse(html: str):
    page = lxml.html.fromstring(html)
    main = page.xpath("//main")[0]
    for gone in main.xpath(".//*"):
        off = CLASSES & set((gone.get("class") or "").split()) or gone.get("hidden") is not None or gone.tag in HIDDEN
        if (off or gone.get("aria-hidden") == "true") and gone.getparent() is not None:
            gone.drop_tree()
    return page, main


def forms(html: str):
    return lxml.html.fromstring(html).forms


def stamp(html: str) -> str:
    """What the document has become, where its page says so."""
    found = lxml.html.fromstring(html).xpath("//p[contains(concat(' ', @class, ' '), ' stamp ')]")
    return words(found[0]) if found else ""


def words(node) -> str:
    return " ".join("".join(node.itertext()).split())


def headings(main) -> list[tuple[str, str]]:
    return [(node.tag.upper(), words(node)) for node in main.xpath(".//h1|.//h2|.//h3|.//h4|.//h5|.//h6")]


def tables(main) -> list[dict]:
    out = []
    for table in main.xpath(".//table"):
        caption = table.xpath("./caption/span[@class='caption']") or table.xpath("./caption")
        out.append(
            {
                "caption": words(caption[0]) if caption else "",
                "heads": [words(cell) for cell in table.xpath("./thead/tr/th")],
                "rows": [[words(cell) for cell in row.xpath("./th|./td")] for row in table.xpath("./tbody/tr")],
            }
        )
    return out


def pictures(main) -> list[tuple[str, str]]:
    return [
        (words(svg.xpath("./*[local-name()='title']")[0]), words(svg.xpath("./*[local-name()='desc']")[0]))
        for svg in main.xpath(".//*[local-name()='svg'][@role='img']")
    ]


def paragraphs(main) -> list[str]:
    out = []
    for node in main.xpath(".//p|.//dt|.//dd|.//li[not(.//p)]"):
        parts = [words(node)]
        if "entry-head" in (node.get("class") or "").split():
            # Set apart on the page, and on paper by a comma.
            parts = [words(part) for part in node if words(part)]
        if any(parts):
            out.append(", ".join(parts))
    return out
