"""Where the files that travel with the package are.

In a source checkout they stand at the top of the tree, where people look for them; in an
installed wheel they stand in `simengine/_data`. Nobody else needs to know which.
"""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent
_DATA = _PACKAGE / "_data"
_TREE = _PACKAGE.parent


def scenarios_dir() -> Path:
    """Return the folder of the shipped scenarios, vocabularies and protocols."""
    return _shipped(_DATA / "scenarios", _TREE / "scenarios")


def schemas_dir() -> Path:
    """Return the folder of the JSON Schemas."""
    return _shipped(_DATA / "schemas", _TREE / "schemas")


def templates_dir() -> Path:
    """Return the folder of the report templates (Jinja2 and Typst)."""
    return _shipped(_DATA / "templates", _TREE / "reports" / "templates")


def fonts_dir() -> Path:
    """Return the folder of the typefaces that page, PDF and plots share."""
    return _PACKAGE / "report" / "fonts"


def _shipped(in_wheel: Path, in_tree: Path) -> Path:
    return in_wheel if in_wheel.is_dir() else in_tree
