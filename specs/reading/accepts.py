"""What a builder accepts knowingly: findings of wiring rules, each with the reason."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree, near

KEYS = ("code", "pin", "net", "because")
FORM = "Write '- {code: edge-slow, pin: U3.1, because: it has hysteresis}'."


@dataclass(frozen=True, slots=True, kw_only=True)
class Accept:
    """A rule's finding at a pin (``U3.1``) or on a net that is accepted; one of them is ""."""

    code: str
    pin: str
    net: str
    because: str
    span: Span


def read_accepts(tree: Tree | None, problems: Problems) -> tuple[Accept, ...]:
    """``accept:`` as a list, or a single one."""
    if tree is None or (isinstance(tree, Text) and not tree.value):
        return ()
    items = tree.items if isinstance(tree, Rows) else (tree,)
    found = (_accept(item, problems) for item in items)
    return tuple(accept for accept in found if accept is not None)


def _accept(item: Tree, problems: Problems) -> Accept | None:
    if not isinstance(item, Table):
        problems.error("accept-malformed", "this accepts nothing", item.span, hint=FORM)
        return None
    texts: dict[str, Text] = {}
    for key, value in item:
        if key.value not in KEYS:
            problems.error(
                "key-unknown",
                f"an accepted finding has no '{key.value}'",
                key.span,
                hint=near(key.value, KEYS) or f"It has {', '.join(KEYS)}.",
            )
            return None
        if isinstance(value, Text) and value.value.strip():
            texts[key.value] = value
    missing = [key for key in ("code", "because") if key not in texts]
    if missing or ("pin" in texts) == ("net" in texts):
        told = f"does not say '{missing[0]}'" if missing else "names one pin or one net"
        problems.error("accept-malformed", f"what is accepted {told}", item.span, hint=FORM)
        return None
    value_of = {key: text.value.strip() for key, text in texts.items()}
    return Accept(
        code=value_of["code"],
        pin=value_of.get("pin", ""),
        net=value_of.get("net", ""),
        because=value_of["because"],
        span=texts["code"].span,
    )
