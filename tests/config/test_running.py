"""One server for one data folder, and a cut-off that is noticed."""

import pytest

from config import running


def test_after_a_clean_stop_nothing_is_suspected(tmp_path):
    with running.mark(tmp_path) as was_cut_off:
        assert not was_cut_off
    with running.mark(tmp_path) as was_cut_off:
        assert not was_cut_off


def test_a_second_server_on_the_same_folder_is_refused(tmp_path):
    with running.mark(tmp_path), pytest.raises(running.AlreadyRunning), running.mark(tmp_path):
        pass


def test_a_mark_that_nobody_holds_tells_of_a_cut_off(tmp_path):
    (tmp_path / "running").write_bytes(running.AT_WORK)
    with running.mark(tmp_path) as was_cut_off:
        assert was_cut_off
    with running.mark(tmp_path) as was_cut_off:
        assert not was_cut_off


def test_an_error_on_the_way_down_is_not_a_cut_off(tmp_path):
    with pytest.raises(ZeroDivisionError), running.mark(tmp_path):
        raise ZeroDivisionError
    with running.mark(tmp_path) as was_cut_off:
        assert not was_cut_off
