"""Read a page as a browser would: its elements, forms, and whether its markup holds together."""

from html.parser import HTMLParser

VOID = {"meta", "link", "input", "br", "hr", "img", "path", "circle", "rect"}
#: Elements that may be left open in HTML; ours never are.
KNOWN = set(
    "html head title meta link script body a header nav form label input button main footer p span "
    "div h1 h2 h3 ul ol li table caption thead tbody tr th td small b cite section select option "
    "details summary fieldset legend dl dt dd figure figcaption svg path circle rect text textarea "
    "output code g".split()
)


class Page(HTMLParser):
    """All elements of a page, in order; ``faults`` lists what does not hold together."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.elements, self.faults, self.words = [], [], []
        self._open = []
        self.feed(text)
        self.close()
        self.faults += [f"<{tag}> is not closed" for tag in self._open]

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        names = [name for name, _ in attrs]
        if len(names) != len(set(names)):
            self.faults.append(f"<{tag}> has an attribute twice")
        if tag not in KNOWN:
            self.faults.append(f"<{tag}> is none of ours")
        self.faults += [f"<{tag} {n}>" for n in names if n.startswith("on") or n == "style"]
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._open.pop()

    def handle_endtag(self, tag):
        if not self._open or self._open[-1] != tag:
            self.faults.append(f"</{tag}> closes nothing")
        else:
            self._open.pop()

    def handle_data(self, data):
        self.words.append(data)

    def all(self, tag, **wanted):
        """Return the attributes of every element of a kind that has the wanted ones."""
        return [
            attrs
            for name, attrs in self.elements
            if name == tag and all(attrs.get(k) == v for k, v in wanted.items())
        ]

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())

    def fields(self):
        """Return name and value of every field of the form of the bench, as sent."""
        return [
            (a["name"], a.get("value") or "")
            for tag, a in self.elements
            if tag == "input" and "name" in a and a["name"] != "q" and a.get("type") != "checkbox"
        ]
