"""The developers' guide stays true: what it names exists."""

import re
from pathlib import Path

import pytest
from django.core.management import get_commands

ROOT = Path(__file__).resolve().parent.parent
GUIDE = (ROOT / "DEVELOPERS.md").read_text()
TO_ADD = GUIDE.split("## To add something")[1].split("## Decisions")[0]


@pytest.mark.parametrize("name", sorted(set(re.findall(r"`([\w./]+\.(?:py|md|csv|toml|html))`", TO_ADD))))
def test_every_file_in_the_to_add_lists_exists(name: str) -> None:
    assert (ROOT / name).is_file()


def test_the_lists_name_files_at_all() -> None:
    assert TO_ADD.count("### ") >= 6


@pytest.mark.parametrize("name", sorted(set(re.findall(r"manage\.py (\w+)", GUIDE))))
def test_every_command_in_the_guide_exists(name: str) -> None:
    assert name in get_commands()


def test_every_command_of_our_own_stands_in_the_guide() -> None:
    own = [name for name, app in get_commands().items() if app == "config"]
    missing = [name for name in own if f"`python3 manage.py {name}" not in GUIDE and f"`{name}`" not in GUIDE]
    assert not missing


def test_decisions_are_numbered_in_order() -> None:
    numbers = [int(n) for n in re.findall(r"^(\d+)\. \d{4}-\d{2}-\d{2}\.", GUIDE, flags=re.MULTILINE)]
    assert numbers == list(range(1, len(numbers) + 1))


def test_every_dependency_has_its_reason() -> None:
    project = (ROOT / "pyproject.toml").read_text()
    names = re.findall(r'^  "([a-z0-9-]+)', project.split("[tool.")[0], flags=re.MULTILINE)
    reasons = GUIDE.split("## Dependencies and why")[1]
    missing = [name for name in names if name not in reasons and not name.startswith("types-")]
    assert not missing
