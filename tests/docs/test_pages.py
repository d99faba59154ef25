"""The documentation builds without a warning, leads somewhere, and says what is so."""

import ast
import inspect
import re
import shlex
from html.parser import HTMLParser
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
import typer

import framecheck
from docs import make_reference
from docs.generators.commands_page import every_command
from docs.generators.limits_page import attribute_meanings
from docs.generators.vocabularies_page import EXAMPLE
from framecheck.classify.thresholds import Thresholds
from framecheck.classify.vocabulary import parse_vocabulary
from framecheck.cli.app import app
from framecheck.cli.columns import every_table
from framecheck.records.coverage import CutThresholds
from tests.docs.building import DOCS, build_docs

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted(path for path in DOCS.rglob("*.md") if "_build" not in path.parts)


def text_of(name):
    return (DOCS / name).read_text("utf-8")


def page_id(path):
    return str(path.relative_to(DOCS))


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """The folder with the built pages."""
    return build_docs(tmp_path_factory.mktemp("docs"))


class _Page(HTMLParser):
    """What a page points to, what it loads, and the places in it that can be pointed to."""

    def __init__(self, text):
        super().__init__()
        self.links, self.loaded, self.places = [], [], set()
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self.places |= {found[name] for name in ("id", "name") if found.get(name)}
        if tag == "a" and found.get("href"):
            self.links.append(found["href"])
        if tag == "link" and found.get("rel") != "canonical":
            self.loaded.append(found.get("href") or "")
        if tag in {"script", "img", "iframe", "source"} and found.get("src"):
            self.loaded.append(found["src"])


@pytest.fixture(scope="module")
def pages(built):
    return {path: _Page(path.read_text("utf-8")) for path in sorted(built.rglob("*.html"))}


def test_every_page_is_built_and_can_be_reached(built, pages):
    wanted = {built / path.relative_to(DOCS).with_suffix(".html") for path in PAGES}
    assert wanted <= set(pages)
    start = pages[built / "index.html"]
    reached = {(built / urlsplit(link).path).resolve() for link in start.links}
    assert {path.resolve() for path in wanted} <= reached | {built / "index.html"}


def dead_links(pages):
    """Links to files that are not there, or to places that no page has."""
    dead = []
    for path, page in pages.items():
        for link in page.links:
            parts = urlsplit(link)
            if parts.scheme or parts.netloc:
                continue
            target = (path.parent / unquote(parts.path)).resolve() if parts.path else path
            there = target.exists()
            if there and parts.fragment and target in pages:
                there = unquote(parts.fragment) in pages[target].places
            if not there:
                dead.append(link)
    return dead


def test_links_lead_to_a_page_and_a_place_in_it(pages):
    assert dead_links(pages) == []


def test_dead_links_are_found(tmp_path):
    text = """<h1 id="here"></h1><a href="#here"></a><a href="#gone"></a><a href="other.html"></a>
    <a href="one.html#here"></a><a href="one.html#away"></a><a href="https://elsewhere/x"></a>"""
    (tmp_path / "one.html").write_text(text, encoding="utf-8")
    found = dead_links({tmp_path / "one.html": _Page(text)})
    assert found == ["#gone", "other.html", "one.html#away"]


def test_nothing_comes_from_the_network(built, pages):
    for path, page in pages.items():
        for address in page.loaded:
            assert not urlsplit(address).netloc, f"{path.name}: {address}"
            assert (path.parent / unquote(urlsplit(address).path)).exists(), address
    for style in built.rglob("*.css"):
        assert not re.findall(r"url\(\s*['\"]?(?:https?:)?//", style.read_text("utf-8")), style


def test_what_is_written_from_the_code_is_up_to_date():
    """Else: python -m docs.make_reference."""
    assert make_reference.out_of_date() == []


def commands_of(text):
    """The lines in blocks of a page that call framecheck, continued lines joined."""
    for kind, body in re.findall(r"```(sh|console)\n(.*?)```", text, re.DOTALL):
        for given in body.replace("\\\n", " ").splitlines():
            line = given.removeprefix("$ ") if kind == "console" else given
            if line.startswith(("framecheck ", "python -m framecheck.bench")):
                yield shlex.split(line)


SHOWN = [
    pytest.param(words, id=f"{page_id(path)}: {' '.join(words)}")
    for path in PAGES
    for words in commands_of(path.read_text("utf-8"))
]


def test_the_pages_show_commands():
    assert len(SHOWN) > 60


COMMANDS = dict(every_command())


@pytest.mark.parametrize("words", SHOWN)
def test_commands_that_are_shown_can_be_given(words):
    if words[1].startswith("--"):
        root = typer.main.get_command(app)
        assert words[1:] in [[name] for item in root.params for name in item.opts]
        return
    called = max((name for name in COMMANDS if tuple(words[: len(name)]) == name), key=len)
    # Fails on options that do not exist and on values that cannot be.
    COMMANDS[called].make_context("framecheck", words[len(called) :])


def test_a_wrong_command_is_found():
    find = COMMANDS["framecheck", "find"]
    find.make_context("framecheck", ["--size", "CU"])
    for wrong in (["--sizes", "CU"], ["--longer-than", "soon"], ["one", "two"]):
        with pytest.raises(Exception, match=r"(?i)no such option|valid|unexpected"):
            find.make_context("framecheck", wrong)


INLINE = re.compile(r"`framecheck ([a-z]+)\b([^`]*)`")


@pytest.mark.parametrize("path", PAGES, ids=page_id)
def test_commands_and_options_in_sentences_exist(path):
    commands = {words[1]: command for words, command in COMMANDS.items()}
    prose = re.sub(r"```.*?```", "", path.read_text("utf-8"), flags=re.DOTALL)
    for name, rest in INLINE.findall(prose):
        assert name in commands, name
        options = {option for item in commands[name].params for option in item.opts}
        assert set(re.findall(r"--[a-z][a-z-]+", rest)) <= options | {"--help"}, rest


def test_modules_that_are_run_are_there():
    text = "".join(path.read_text("utf-8") for path in PAGES)
    names = set(re.findall(r"^python -m ((?:framecheck|docs|tests)[\w.]*)", text, re.MULTILINE))
    assert "framecheck.bench" in names
    assert [name for name in names if find_spec(name) is None] == []


def test_every_command_has_its_section():
    page = text_of("reference/command-line.md")
    for words, command in COMMANDS.items():
        assert f"## {' '.join(words)}\n" in page
        for item in command.params:
            if item.param_type_name == "option" and "--help" not in item.opts:
                assert all(f"`{name}`" in page for name in item.opts), item.opts


def test_every_column_has_its_row():
    page = text_of("reference/columns.md")
    sections = dict(re.findall(r"\n## (\w+)\n(.*?)(?=\n## |\Z)", page, re.DOTALL))
    for name, columns in every_table().items():
        listed = re.findall(r"^\| `(\w+)` \|", sections[name], re.MULTILINE)
        assert listed == [column.name for column in columns if not column.name.endswith("_why")]


@pytest.mark.parametrize("record", [Thresholds, CutThresholds])
def test_every_limit_has_its_meaning(record):
    meanings = attribute_meanings(inspect.getdoc(record))
    assert set(meanings) == set(record.__dataclass_fields__)
    page = text_of("reference/limits.md")
    for name, meaning in meanings.items():
        assert len(meaning.split()) >= 3, name
        assert f"| `{name}` |" in page


def test_attribute_meanings_of_a_small_docstring():
    text = "What.\n\nAttributes:\n    a, b: first\n        goes on.\n    c: second."
    assert attribute_meanings(text) == {
        "a": "first goes on.", "b": "first goes on.", "c": "second."
    }  # fmt: skip


def test_the_vocabulary_that_is_shown_is_one():
    assert EXAMPLE in text_of("reference/vocabularies.md")
    assert [band.abbr for band in parse_vocabulary(EXAMPLE, "shown").bands] == ["W", "M", "N"]


def test_python_that_is_shown_compiles_and_names_what_is_there():
    blocks = re.findall(r"```python\n(.*?)```", "".join(p.read_text("utf-8") for p in PAGES), re.S)
    assert blocks
    for block in blocks:
        for node in ast.walk(ast.parse(block)):
            called = isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name)
            if called and node.value.id == "framecheck":
                assert node.attr in framecheck.__all__


@pytest.mark.parametrize("path", PAGES, ids=page_id)
def test_no_page_names_a_machine(path):
    text = path.read_text("utf-8")
    assert not re.search(r"/(?:work|tmp|root|home/(?!you/))\b", text)


def test_pictures_are_small_and_used():
    pictures = [path for path in (DOCS / "pictures").iterdir() if path.suffix != ".svg"]
    assert sum(path.stat().st_size for path in pictures) < 1_500_000
    text = "".join(path.read_text("utf-8") for path in PAGES)
    for path in (DOCS / "pictures").iterdir():
        assert f"pictures/{path.name}" in text
