"""What a request says: fields of the address and of a form, and a file sent with it."""

from __future__ import annotations

from base64 import b64decode, b64encode
from collections.abc import Iterator
from dataclasses import dataclass, field
from email.parser import BytesParser
from email.policy import HTTP
from typing import Any
from urllib.parse import parse_qsl, urlencode

from kb.web.faults import PageError

#: The largest body that is read.
MAX_BODY = 256 * 1024
_MOST_FIELDS = 6_000
_FILE, _FILE_NAME = "file-content", "file-name"
FORM, MULTIPART = "application/x-www-form-urlencoded", "multipart/form-data"


@dataclass(slots=True)
class Fields:
    """Fields by name, in the order they were sent, and one file at most."""

    pairs: list[tuple[str, str]] = field(default_factory=list)
    file_name: str = ""
    file: bytes | None = None

    def get(self, name: str, default: str = "") -> str:
        """Return the last value of a field."""
        return next((v for n, v in reversed(self.pairs) if n == name), default)

    def all(self, name: str) -> list[str]:
        """Return every value of a field that is not blank."""
        return [v for n, v in self.pairs if n == name and v.strip()]

    def number(self, name: str) -> int | None:
        """Return a whole number, or nothing when the field is blank or none.

        Raises
        ------
        PageError
            It is no number.
        """
        text = self.get(name).strip()
        if not text:
            return None
        if not (text.isascii() and text.isdigit() and len(text) < 6):
            raise PageError(400, f"{text[:40]!r} is no whole number.", name, "Write one such as 3.")
        return int(text)

    def plain(self) -> bytes:
        """Return the fields as a plain form, the file in two fields of its own."""
        pairs = list(self.pairs)
        if self.file is not None:
            pairs += [(_FILE_NAME, self.file_name), (_FILE, b64encode(self.file).decode())]
        return urlencode(pairs).encode()

    def __contains__(self, name: str) -> bool:
        return any(n == name for n, _ in self.pairs)

    def __iter__(self) -> Iterator[tuple[str, str]]:
        return iter(self.pairs)


def of_query(query: str) -> Fields:
    """Return the fields of an address."""
    return Fields(_pairs(query))


def of_body(body: bytes, content_type: str) -> Fields:
    """Return the fields of a form.

    Raises
    ------
    PageError
        It is none of the two kinds of form, or damaged.
    """
    kind = content_type.split(";")[0].strip().lower()
    if kind == FORM:
        return _with_file(Fields(_pairs(body.decode("utf-8", "replace"))))
    if kind == MULTIPART:
        return _parts(body, content_type)
    raise PageError(
        400, "The body is no form.", "", "Send form fields, or fetch the page with GET."
    )


def _with_file(fields: Fields) -> Fields:
    """Take a file out of the two fields it came in."""
    if _FILE in fields:
        try:
            fields.file = b64decode(fields.get(_FILE), validate=True)
        except ValueError:
            raise PageError(400, "The form is damaged.", "", "Send it again.") from None
        fields.file_name = fields.get(_FILE_NAME)[:120]
        fields.pairs = [(n, v) for n, v in fields.pairs if n not in {_FILE, _FILE_NAME}]
    return fields


def _pairs(text: str) -> list[tuple[str, str]]:
    try:
        pairs = parse_qsl(text, keep_blank_values=True, max_num_fields=_MOST_FIELDS)
    except ValueError:
        raise PageError(400, "Too many fields.", "", "Send one formula at a time.") from None
    return [(name, _sound(value)) for name, value in pairs]


def _sound(text: str) -> str:
    """Return text that can be written as UTF-8."""
    return text.encode("utf-8", "replace").decode()


def _parts(body: bytes, content_type: str) -> Fields:
    head = b"Content-Type: " + content_type.encode("latin-1", "replace") + b"\r\n\r\n"
    message: Any = BytesParser(policy=HTTP).parsebytes(head + body)
    if not message.is_multipart():
        raise PageError(400, "The form is damaged.", "", "Send it again from the page.")
    found = Fields()
    for part in message.iter_parts():
        name = part.get_param("name", header="content-disposition")
        if not isinstance(name, str) or len(found.pairs) >= _MOST_FIELDS:
            continue
        content = part.get_payload(decode=True) or b""
        file_name = part.get_filename()
        if file_name is None:
            found.pairs.append((name, _sound(content.decode("utf-8", "replace"))))
        elif file_name or content:
            found.file_name, found.file = _sound(str(file_name))[:120], content
    return found
