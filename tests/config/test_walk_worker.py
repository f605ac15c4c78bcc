"""The script that keeps a walk on the phone: where it lies, who gets it, and how."""

from django.test import Client


def test_the_script_lies_at_the_root_and_needs_no_sign_in(keeper):
    answer = Client().get("/walk-worker.js")
    assert answer.status_code == 200
    assert answer.headers["Content-Type"].startswith("text/javascript")
    assert "default-src 'self'" in answer.headers["Content-Security-Policy"]


def test_an_update_of_the_script_reaches_the_phones(keeper):
    assert Client().get("/walk-worker.js").headers["Cache-Control"] == "no-cache"


def test_the_script_takes_nothing(keeper):
    assert Client().post("/walk-worker.js").status_code == 405
