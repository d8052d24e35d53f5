"""The tests. A package, so that they can share helpers: `from tests.support... import ...`."""
