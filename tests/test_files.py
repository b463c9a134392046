"""The atomic writer: whole or not at all, whatever goes wrong, and nothing left behind."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys

import pytest

from pcompare import files
from pcompare.errors import OutputError


def strays(folder):
    return [path.name for path in folder.iterdir() if path.name.startswith(files.MARK)]


def test_writes_and_replaces(tmp_path):
    target = tmp_path / "a.txt"
    files.write(target, b"one")
    files.write(target, b"two")
    assert target.read_bytes() == b"two"
    assert os.listdir(tmp_path) == ["a.txt"]


def test_a_document_is_as_readable_as_the_user_s_mask_says(tmp_path):
    before = os.umask(0o027)
    try:
        files.write(tmp_path / "a", b"")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o640


def refused(target, data=b"new", **options):
    with pytest.raises(OutputError) as caught:
        files.write(target, data, **options)
    return str(caught.value)


def test_a_folder_as_target(tmp_path):
    (tmp_path / "out").mkdir()
    assert refused(tmp_path / "out").endswith("out: found a folder; needs a file name")
    assert strays(tmp_path) == []


def test_a_file_as_folder(tmp_path):
    (tmp_path / "plain").write_bytes(b"kept")
    message = refused(tmp_path / "plain" / "a.pdf")
    assert message.endswith("plain: found a file; needs an existing folder")
    assert (tmp_path / "plain").read_bytes() == b"kept"


def test_no_such_folder(tmp_path):
    assert "found no such folder" in refused(tmp_path / "none" / "a.pdf")


def test_a_link_is_not_followed(tmp_path):
    (tmp_path / "real").write_bytes(b"kept")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    (tmp_path / "hanging").symlink_to(tmp_path / "nothing")
    assert "found a link" in refused(tmp_path / "link")
    assert "found a link" in refused(tmp_path / "hanging")
    assert (tmp_path / "real").read_bytes() == b"kept"
    assert not (tmp_path / "nothing").exists()


def test_a_device_or_pipe_is_not_replaced(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    assert "found a device or pipe" in refused(tmp_path / "pipe")
    assert stat.S_ISFIFO((tmp_path / "pipe").stat().st_mode)


def test_the_input_itself_is_not_replaced(tmp_path):
    source = tmp_path / "case.xlsx"
    source.write_bytes(b"kept")
    other_name = tmp_path / "sub" / ".." / "case.xlsx"
    (tmp_path / "sub").mkdir()
    message = refused(other_name, never=[source])
    assert "found the input of this run; needs another name" in message
    assert source.read_bytes() == b"kept"
    files.write(tmp_path / "other.xlsx", b"x", never=[source, tmp_path / "gone"])


def test_a_name_that_no_disk_takes(tmp_path):
    assert "too long" in refused(tmp_path / ("n" * 300))
    assert "null" in refused(tmp_path / "a\0b")


def failing(number):
    def fail(*arguments, **options):
        raise OSError(number, os.strerror(number))

    return fail


@pytest.mark.parametrize("call", ["fsync", "replace", "fdopen"])
def test_a_full_disk_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch, call):
    target = tmp_path / "memo.pdf"
    target.write_bytes(b"old")
    if call == "fdopen":
        monkeypatch.setattr(files.tempfile, "mkstemp", failing(errno.ENOSPC))
    else:
        monkeypatch.setattr(files.os, call, failing(errno.ENOSPC))
    assert "memo.pdf: found no space left on device; needs" in refused(target)
    assert target.read_bytes() == b"old"
    assert strays(tmp_path) == []


def test_a_target_open_elsewhere_is_told_to_be_closed(tmp_path, monkeypatch):
    monkeypatch.setattr(files.os, "replace", failing(errno.EACCES))
    assert "close it and run again" in refused(tmp_path / "book.xlsx")
    assert os.listdir(tmp_path) == []


def test_an_interrupt_leaves_nothing(tmp_path, monkeypatch):
    def interrupt(handle):
        raise KeyboardInterrupt

    monkeypatch.setattr(files.os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        files.write(tmp_path / "a", b"x")
    assert os.listdir(tmp_path) == []


def test_several_are_all_whole_before_the_first_is_replaced(tmp_path, monkeypatch):
    names = ["a", "b", "c"]
    for name in names:
        (tmp_path / name).write_bytes(b"old")
    synced = []
    real = os.fsync

    def third_fails(handle):
        synced.append(handle)
        if len(synced) == 3:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(handle)

    monkeypatch.setattr(files.os, "fsync", third_fails)
    with pytest.raises(OutputError, match="c: found no space left"):
        files.write_all({tmp_path / name: b"new" for name in names})
    assert [(tmp_path / name).read_bytes() for name in names] == [b"old"] * 3
    assert sorted(os.listdir(tmp_path)) == names


def test_several_with_one_impossible_target_write_none(tmp_path):
    (tmp_path / "b").mkdir()
    with pytest.raises(OutputError, match="found a folder"):
        files.write_all({tmp_path / "a": b"new", tmp_path / "b": b"new"})
    assert os.listdir(tmp_path) == ["b"]


def test_a_late_failure_names_what_is_already_in_place(tmp_path, monkeypatch):
    real = os.replace

    def second_fails(part, path):
        if path.name == "b":
            raise OSError(errno.EACCES, "Permission denied")
        real(part, path)

    monkeypatch.setattr(files.os, "replace", second_fails)
    with pytest.raises(OutputError, match=r"b: found permission denied.*\(a of this run already"):
        files.write_all({tmp_path / "a": b"new", tmp_path / "b": b"new"})
    assert os.listdir(tmp_path) == ["a"]


def test_parts_of_a_killed_run_are_removed_and_those_of_a_living_one_kept(tmp_path):
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    dead = tmp_path / f"{files.MARK}{files._host()}-{gone.pid}-abc"
    living = tmp_path / f"{files.MARK}{files._host()}-{os.getppid()}-abc"
    elsewhere = tmp_path / f"{files.MARK}00000000-{gone.pid}-abc"  # of another computer
    user_s = tmp_path / ".pcompare-notes"
    for path in (dead, living, elsewhere, user_s):
        path.write_bytes(b"")
    files.write(tmp_path / "a", b"x")
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {living.name, elsewhere.name, user_s.name, "a"}


def test_ensure_folder(tmp_path):
    made = files.ensure_folder(tmp_path / "x" / "y")
    assert made.is_dir()
    assert files.ensure_folder(made) == made
    (tmp_path / "plain").write_bytes(b"")
    for folder in (tmp_path / "plain", tmp_path / "plain" / "deeper"):
        with pytest.raises(OutputError, match="found a file of that name; needs a folder"):
            files.ensure_folder(folder)
    with pytest.raises(OutputError, match="too long"):
        files.ensure_folder(tmp_path / ("n" * 300))


def test_removing_leaves_what_cannot_go(tmp_path):
    gone, folder = tmp_path / "a", tmp_path / "b"
    gone.write_bytes(b"x")
    folder.mkdir()
    files.remove([gone, folder, tmp_path / "never there"])
    assert not gone.exists() and folder.is_dir()
