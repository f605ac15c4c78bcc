"""The report of `verify`: what it repeats of the tools, and that it knows its own checks."""

import re

import pytest
from django.core.management import CommandError, call_command

from config.management.commands import verify

PYTEST = """\
FAILED tests/a.py::test_b - assert 1 == 2
TOTAL                 2798    432    472     28    83%
1 failed, 331 passed in 140.46s (0:02:20)
"""


def test_the_closing_line_of_the_tests_is_repeated():
    assert verify.closing_line(PYTEST) == "1 failed, 331 passed in 140.46s (0:02:20)"
    assert verify.closing_line("nothing of the kind") == ""


def test_the_share_that_the_tests_ran_is_read_from_the_reports_last_row():
    assert verify.coverage(PYTEST) == "83% of lines and branches run"
    assert verify.coverage("") == ""


def test_every_check_is_a_tool_of_the_projects_own_environment():
    for command in verify.steps().values():
        assert str(verify.TOOLS) in command[0]


def test_a_check_that_does_not_exist_is_refused():
    with pytest.raises(CommandError, match="no check named speling"):
        call_command("verify", "speling")


def test_a_failing_check_fails_the_whole_and_shows_its_words(monkeypatch, capsys):
    python = verify.MANAGE[0]
    checks = {"good": [python, "-c", ""], "bad": [python, "-c", "print('this is why'); raise SystemExit(1)"]}
    monkeypatch.setattr(verify, "steps", lambda: checks)
    with pytest.raises(CommandError, match=r"Failed: bad\."):
        call_command("verify")
    report = capsys.readouterr().out
    assert re.search(r"^ok +good", report, re.MULTILINE)
    assert "    this is why" in report


def test_when_everything_holds_it_says_so(monkeypatch, capsys):
    monkeypatch.setattr(verify, "steps", lambda: {"good": [verify.MANAGE[0], "-c", ""]})
    call_command("verify")
    assert "Everything holds." in capsys.readouterr().out


def test_the_checks_see_neither_the_keepers_data_nor_the_servers_settings(monkeypatch):
    monkeypatch.setenv("DJANGO_SETTINGS_MODULE", "config.settings")
    environment = verify._environment("/tmp/away")
    assert environment["SCOPULA_DATA"] == "/tmp/away"
    assert "DJANGO_SETTINGS_MODULE" not in environment
