"""A page taken apart by an HTML parser that is none of ours (the standard library's)."""

from __future__ import annotations

from html.parser import HTMLParser


class Parsed(HTMLParser):
    """The tags of a page, the data of its scripts, its links, and its text."""

    def __init__(self, text: str):
        super().__init__()
        self.tags, self.scripts, self.links, self.said, self.handlers = [], [], [], [], []
        self.inside = False
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.handlers += [name for name, _ in attributes if name.startswith("on")]
        self.inside = tag == "script"
        if tag == "script":
            self.scripts.append((dict(attributes), ""))
        if tag == "a":
            self.links.append(dict(attributes).get("href", ""))

    def handle_endtag(self, tag):
        self.inside = self.inside and tag != "script"

    def handle_data(self, data):
        if self.inside:
            self.scripts[-1] = (self.scripts[-1][0], self.scripts[-1][1] + data)
        else:
            self.said.append(data)


def harmless(text: str) -> Parsed:
    """Every script is a file of ours or data; no attribute runs anything."""
    page = Parsed(text)
    for attributes, data in page.scripts:
        assert attributes.get("src", "").startswith("/static/") or attributes.get("type") == "application/json"
        if attributes.get("type") != "application/json":
            assert not data.strip()
    assert not page.handlers
    assert "img" not in page.tags
    return page


class _Form(HTMLParser):
    def __init__(self, text: str, attribute: str, value: str):
        super().__init__()
        self.wanted, self.fields, self.within, self.select = (attribute, value), {}, False, ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attributes):
        own = dict(attributes)
        if tag == "form":
            self.within = self.wanted in attributes
        elif self.within and tag == "input" and own.get("name"):
            self.fields[own["name"]] = own.get("value", "")
        elif self.within and tag == "select":
            self.select = own["name"]
            self.fields[self.select] = ""
        elif self.within and tag == "option" and "selected" in own:
            self.fields[self.select] = own["value"]

    def handle_endtag(self, tag):
        self.within = self.within and tag != "form"


def fields_of(text: str, attribute: str, value: str) -> dict[str, str]:
    """The fields of the form with this attribute, as a browser without scripts would send them."""
    return _Form(text, attribute, value).fields
