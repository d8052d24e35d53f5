"""The small forms of EDIF: names, properties, designators, status."""

from __future__ import annotations

from breadproof.specs.edif.model import Name, Property
from breadproof.specs.edif.tree import Atom, Form, Source, string_of
from breadproof.specs.reading.diagnostics import Problems

MAX_ARRAY = 4096
"""Members of an array; more are refused."""
_VALUES = ("string", "integer", "number", "boolean")


class Pieces:
    """Reads small forms; problems are collected."""

    def __init__(self, source: Source, problems: Problems) -> None:
        """Take the text that the forms are of."""
        self.source = source
        self.problems = problems

    def bad(self, message: str, item: Atom | Form, hint: str, code: str = "edif-shape") -> None:
        """Note a problem at an item."""
        self.problems.error(code, message, self.source.of(item), hint=hint)

    def name(self, form: Form) -> Name | None:
        """The name that a form begins with: an identifier, ``rename``, ``array`` or ``name``."""
        item = form.items[0] if form.items else None
        found = None if item is None else self.name_of(item)
        if found is None:
            self.bad(
                f"this {form.keyword} has no name",
                form,
                f"Write '({form.keyword} NAME ...' or '({form.keyword} (rename NAME \"...\") ...'.",
            )
        return found

    def name_of(self, item: Atom | Form) -> Name | None:
        """A name; None if it is none."""
        if isinstance(item, tuple):
            text, at = item
            if text[0] == '"':
                return None
            return Name(text.lower(), text[1:] if text[0] == "&" else text, at, len(text))
        if item.keyword == "array":
            return self._array(item)
        first = item.items[0] if item.items else None
        if item.keyword not in ("rename", "name") or first is None:
            return None
        inner = self.name_of(first)
        if inner is None or item.keyword == "name":
            return inner
        shown = self.text(item.items[1]) if len(item.items) == 2 else None
        if shown is None:
            self.bad("a rename has a name and a string", item, 'Write (rename NAME "original").')
            return inner
        inner.shown = shown.strip() or inner.shown
        return inner

    def _array(self, form: Form) -> Name | None:
        inner = self.name_of(form.items[0]) if form.items else None
        size = 1
        for item in form.items[1:]:
            number = self.integer(item)
            size *= number if number is not None and number > 0 else 0
        if inner is None or len(form.items) < 2 or not 0 < size <= MAX_ARRAY:
            self.bad(
                f"an array has a name and a size, at most {MAX_ARRAY:,}",
                form,
                "Write (array NAME 8).",
            )
            return inner
        inner.size = size
        return inner

    def member(self, item: Atom | Form) -> tuple[Name | None, int | None]:
        """The name of what is referred to, and the number if it is a member of an array."""
        if isinstance(item, Form) and item.keyword == "member":
            name = self.name_of(item.items[0]) if item.items else None
            number = self.integer(item.items[1]) if len(item.items) == 2 else None
            if name is None or number is None or number < 0:
                self.bad("a member has a name and one number", item, "Write (member NAME 3).")
                return name, None
            return name, number
        return self.name_of(item), None

    def integer(self, item: Atom | Form) -> int | None:
        """An integer, or None."""
        if isinstance(item, tuple) and item[0].lstrip("+-").isdecimal() and len(item[0]) < 12:
            return int(item[0])
        return None

    def text(self, item: Atom | Form) -> str | None:
        """A string, also inside ``stringDisplay``; None if it is none."""
        if isinstance(item, tuple):
            return string_of(item[0]) if item[0][0] == '"' else None
        if item.keyword == "stringdisplay" and item.items:
            return self.text(item.items[0])
        return None

    def designator(self, form: Form) -> str:
        """What ``(designator "U1")`` says; an identifier and an integer are taken, too."""
        found = form.form("designator")
        if found is None or not found.items:
            return ""
        item = found.items[0]
        text = self.text(item)
        if text is None and isinstance(item, tuple):
            text = item[0].lstrip("&")
        return (text or "").strip()

    def properties(self, form: Form) -> tuple[Property, ...]:
        """The properties of a form; those of kinds that are not used here are left out."""
        found: list[Property] = []
        for item in form.items:
            if isinstance(item, Form) and item.keyword == "property":
                one = self.property(item)
                if one is not None:
                    found.append(one)
        return tuple(found)

    def property(self, form: Form) -> Property | None:
        """``(property NAME (string "..."))``.

        Its name may be several words without quotes, as some programs write them:
        ``(property Part Number (string "..."))``, or a string. That is taken only here, where
        nothing but a name can stand before the value.
        """
        items = form.items
        name = self.name_of(items[0]) if items else None
        if name is None and len(items) > 1 and (text := self.text(items[0])):
            name = Name(text.lower(), text, self.place(items[0]), 1)
        place = 1
        if name is not None and isinstance(items[0], tuple):
            while place < len(items) and isinstance(more := items[place], tuple):
                if more[0][0] == '"':
                    break
                name.shown += f" {more[0]}"
                name.length = more[1] + len(more[0]) - name.at
                place += 1
            name.key = name.shown.lower()
        if name is None:
            self.bad("this property has no name", form, 'Write (property NAME (string "...")).')
            return None
        inner = tuple(
            one
            for item in items[place:]
            if isinstance(item, Form) and item.keyword == "property"
            if (one := self.property(item)) is not None
        )
        for item in items[place:]:
            if isinstance(item, tuple):
                text = self.text(item)
                if text is not None:
                    return Property(name, "string", text, item[1], len(item[0]), inner)
            elif item.keyword in _VALUES:
                value, at, length = self.value(item)
                return Property(name, item.keyword, value, at, length, inner)
        return None

    def value(self, form: Form) -> tuple[str, int, int]:
        """A typed value as text, and its place."""
        first = form.items[0] if form.items else None
        if first is None:
            return "", form.at, len(form.keyword) + 1
        if isinstance(first, tuple):
            texts = [self.text(item) or item[0] for item in form.atoms()]
            if first[0] == '""':
                texts = [""]
            return " ".join(texts), first[1], len(first[0])
        text = self.text(first)
        if text is not None:
            inner = first.items[0]
            return text, self.place(inner), 1
        if first.keyword == "e" and len(first.items) == 2:
            mantissa, exponent = (self.integer(item) for item in first.items)
            if mantissa is not None and exponent is not None and abs(exponent) <= 30:
                return f"{mantissa}e{exponent}", first.at, 1
        return first.keyword, first.at, len(first.keyword) + 1  # (boolean (true))

    def place(self, item: Atom | Form) -> int:
        """Where an item begins."""
        return item[1] if isinstance(item, tuple) else item.at

    def comments(self, form: Form) -> tuple[str, ...]:
        """The strings of its comments."""
        return tuple(
            text.strip()
            for comment in form.forms("comment")
            for item in comment.items
            if (text := self.text(item)) is not None and text.strip()
        )

    def status(self, form: Form) -> tuple[str, ...]:
        """Program, author and time of ``(status (written ...))``, as far as they are told."""
        found: list[str] = []
        for status in form.forms("status"):
            for written in status.forms("written"):
                stamp = written.form("timestamp")
                numbers = [self.integer(item) for item in stamp.items] if stamp else []
                for kind in ("program", "author", "dataorigin"):
                    one = written.form(kind)
                    text = self.text(one.items[0]) if one is not None and one.items else None
                    if text and text.strip():
                        found.append(text.strip())
                if len(numbers) >= 3 and None not in numbers:
                    year, month, day = numbers[:3]
                    found.append(f"{year:04}-{month:02}-{day:02}")
        return tuple(found)
