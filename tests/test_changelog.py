"""The CHANGELOG can be relied on: versions in order, and changed numbers raise a breaking one."""

import re
from pathlib import Path

import pytest

CHANGELOG = (Path(__file__).parent.parent / "CHANGELOG.md").read_text("utf-8")
HEADING = re.compile(r"^## (\d+)\.(\d+)\.(\d+) - (\d{4}-\d{2}-\d{2})$", re.MULTILINE)
PARTS = {"Command line", "Python", "Measurements", "Catalog", "Truth bench", "Packaging",
         "Documentation", "Speed", "Many machines"}  # fmt: skip


def complaints(text):
    """What is wrong with a changelog, newest entry first.

    A line under *Measurements* that begins with `- Changed:` says that numbers of an earlier
    version have changed. That is breaking: the first number goes up, or the second before 1.0.0.
    """
    found = []
    headings = list(HEADING.finditer(text))
    if len(headings) != len(re.findall(r"^## ", text, re.MULTILINE)):
        found.append("a heading that is no version with its date")
    ends = [*(one.start() for one in headings[1:]), len(text)]
    versions = [tuple(map(int, one.groups()[:3])) for one in headings]
    if versions != sorted(set(versions), reverse=True):
        found.append("versions that do not fall")
    for place, (heading, end) in enumerate(zip(headings, ends, strict=True)):
        entry = text[heading.end() : end]
        unknown = set(re.findall(r"^### (.+)$", entry, re.MULTILINE)) - PARTS
        found += [f"an unknown part {name!r}" for name in sorted(unknown)]
        measured = re.search(r"^### Measurements\n(.*?)(?=^### |\Z)", entry, re.M | re.S)
        changed = measured and re.search(r"^- Changed:", measured[1], re.MULTILINE)
        if changed and place + 1 < len(versions):
            new, old = versions[place], versions[place + 1]
            if new[0] == old[0] and (new[0] > 0 or new[1] == old[1]):
                found.append(f"numbers changed from {old} to {new}, which is not breaking")
    return found


def test_it_is_in_order():
    assert complaints(CHANGELOG) == []


def test_it_says_what_changed_numbers_are():
    intro = " ".join(CHANGELOG.split("\n## ")[0].split())
    assert "semantic versioning" in intro
    assert "breaking change" in intro
    assert "*Measurements*" in intro


def test_every_release_says_what_it_measures():
    for entry in re.split(r"^## ", CHANGELOG, flags=re.MULTILINE)[1:2]:
        assert "### Measurements" in entry


OLD = "\n## 0.1.0 - 2026-01-01\n\n### Measurements\n- The ruler.\n"
CHANGED = "\n### Measurements\n- Changed: the crown is 0.01 higher.\n"


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ("## 0.2.0 - 2026-02-02\n" + CHANGED, []),
        ("## 1.0.0 - 2026-02-02\n" + CHANGED, []),
        ("## 0.1.1 - 2026-02-02\n\n### Python\n- A name.\n", []),
        (
            "## 0.1.1 - 2026-02-02\n" + CHANGED,
            ["numbers changed from (0, 1, 0) to (0, 1, 1), which is not breaking"],
        ),
        ("## 0.0.9 - 2026-02-02\n", ["versions that do not fall"]),
        ("## Next\n", ["a heading that is no version with its date"]),
        ("## 0.1.1 - 2026-02-02\n### Misc\n", ["an unknown part 'Misc'"]),
    ],
)
def test_what_is_wrong_is_found(entry, said):
    assert complaints(entry + OLD) == said


def test_from_one_on_the_first_number_tells():
    old = OLD.replace("0.1.0", "1.1.0")
    assert complaints("## 1.2.0 - 2026-02-02\n" + CHANGED + old) == [
        "numbers changed from (1, 1, 0) to (1, 2, 0), which is not breaking"
    ]
    assert complaints("## 2.0.0 - 2026-02-02\n" + CHANGED + old) == []
