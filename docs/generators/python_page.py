"""The page of the public names in Python, from their signatures and docstrings."""

from __future__ import annotations

import inspect
from collections.abc import Iterator

import framecheck
from docs.generators.markdown import block, page

_HEAD = """# Python

What `import framecheck` gives. Importing loads nothing heavy: each name is loaded when it is used.
Everything is typed, and type checkers see it (`py.typed`). Units are in the names: `_px` pixels,
`_frac` picture heights, `_wfrac` picture widths, `_level` heights on the body, `_deg` degrees,
`_m` metres, `_mm` millimetres, `_s` seconds. A value that could not be measured is a `NotMeasured`
with its reason, never a number that looks like one."""

_START = (
    "import framecheck",
    "",
    'result = framecheck.measure_still("sample_frames/09-builder-chest.jpg")',
    "subject = result.measurement.people[0]",
    "if not isinstance(subject.crop_level, framecheck.NotMeasured):",
    '    print(f"cut at {subject.crop_level:.2f}: {result.judgement.sizes[0].name}")',
)


def _is_error(item: object) -> bool:
    return isinstance(item, type) and issubclass(item, BaseException)


def _is_record(item: object) -> bool:
    return isinstance(item, type) and not _is_error(item)


_KINDS = (
    ("## Functions", inspect.isfunction),
    ("## Errors", _is_error),
    ("## Records", _is_record),
)


def python_page() -> str:
    """Every public name with what it takes and what it is."""
    parts = [_HEAD, block(_START, "python")]
    for heading, belongs in _KINDS:
        found = [(name, item) for name, item in _public() if belongs(item)]
        parts += [heading, *(_of_name(name, item) for name, item in found)]
    return page(*parts)


def _public() -> Iterator[tuple[str, object]]:
    for name in framecheck.__all__:
        if not name.startswith("__"):
            yield name, getattr(framecheck, name)


def _of_name(name: str, item: object) -> str:
    lines = [f"### {name}"]
    if callable(item) and not _is_error(item):
        lines.append(block(_signature(name, inspect.signature(item)), "text"))
    return "\n\n".join([*lines, block(_words(item), "text")])


def _words(item: object) -> list[str]:
    """The docstring without what it says to the test runner."""
    lines = (inspect.getdoc(item) or "").splitlines()
    clean = [line.replace("# doctest: +SKIP", "").rstrip() for line in lines]
    return [line for line in clean if line.strip() != "..."]


def _signature(name: str, signature: inspect.Signature) -> Iterator[str]:
    """One parameter a line, annotations as written in the source."""
    returns = signature.return_annotation
    ending = "" if returns in {inspect.Signature.empty, None, "None"} else f" -> {returns}"
    yield f"{name}("
    only_named = False
    for parameter in signature.parameters.values():
        if parameter.kind is parameter.KEYWORD_ONLY and not only_named:
            only_named = True
            yield "    *,"
        yield f"    {parameter.name}{_type(parameter)}{_default(parameter)},"
    yield f"){ending}"


def _type(parameter: inspect.Parameter) -> str:
    written = parameter.annotation
    return "" if written is inspect.Parameter.empty else f": {written}"


def _default(parameter: inspect.Parameter) -> str:
    return "" if parameter.default is inspect.Parameter.empty else f" = {parameter.default!r}"
