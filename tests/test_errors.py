"""The error tree: where an error belongs, and that it crosses a process border whole."""

import inspect
import pickle

import pytest

import framecheck.errors
from framecheck.errors import FramecheckError

KINDS = [
    kind
    for _, kind in inspect.getmembers(framecheck.errors, inspect.isclass)
    if issubclass(kind, Exception)
]
# As the docstring of the module draws it: each error under its parent.
TREE = {
    "MediaError": "FramecheckError", "CannotOpen": "MediaError", "CannotDecode": "MediaError",
    "OverLimit": "MediaError", "ModelError": "FramecheckError", "ModelMissing": "ModelError",
    "ModelBroken": "ModelError", "ConfigError": "FramecheckError",
    "ExportError": "FramecheckError", "CatalogError": "FramecheckError",
    "LeaseLost": "CatalogError", "WorkerError": "FramecheckError",
}  # fmt: skip


@pytest.mark.parametrize(("name", "parent"), TREE.items())
def test_errors_stand_where_the_tree_says(name, parent) -> None:
    assert getattr(framecheck.errors, name).__bases__ == (getattr(framecheck.errors, parent),)


@pytest.mark.parametrize("kind", KINDS)
def test_every_error_is_in_the_drawn_tree(kind) -> None:
    assert kind.__name__ in (framecheck.errors.__doc__ or "")
    assert issubclass(kind, FramecheckError)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("where", ["a/b.jpg", ""])
def test_an_error_survives_pickling(kind, where) -> None:
    error = pickle.loads(pickle.dumps(kind("what happened", where=where)))
    assert type(error) is kind
    assert str(error) == "what happened"
    assert error.where == where


def test_where_is_empty_when_nothing_is_said() -> None:
    assert FramecheckError("what happened").where == ""
