"""The atomic writer: whole or not at all, whatever stands in the way."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
import tempfile

import pytest

from pcompare import files
from pcompare.errors import OutputError


def parts(folder):
    return [path.name for path in folder.iterdir() if path.name.startswith(files.MARK)]


def fault(path, data=b"new"):
    with pytest.raises(OutputError) as raised:
        files.write(path, data)
    return str(raised.value)


def failing(code):
    def fail(*_arguments, **_options):
        raise OSError(code, os.strerror(code))

    return fail


def test_bytes_are_written_and_nothing_else_is_left(tmp_path):
    target = tmp_path / "memo.pdf"
    files.write(target, b"\x00one\xff")
    assert target.read_bytes() == b"\x00one\xff"
    files.write(target, b"two")
    assert target.read_bytes() == b"two"
    assert [p.name for p in tmp_path.iterdir()] == ["memo.pdf"]


def test_a_document_may_be_read_by_others_as_the_system_says(tmp_path):
    """A temporary file is made private; what takes the target's place must not stay so."""
    mask = os.umask(0o027)
    try:
        files.write(tmp_path / "memo.pdf", b"x")
    finally:
        os.umask(mask)
    assert stat.S_IMODE((tmp_path / "memo.pdf").stat().st_mode) == 0o640


def test_it_is_on_the_disk_before_it_takes_the_place(tmp_path, monkeypatch):
    steps = []
    sync, replace = os.fsync, os.replace
    monkeypatch.setattr(files.os, "fsync", lambda h: (steps.append("sync"), sync(h))[1])
    monkeypatch.setattr(files.os, "replace", lambda a, b: (steps.append("place"), replace(a, b))[1])
    files.write_all({tmp_path / "a": b"1", tmp_path / "b": b"2"})
    assert steps == ["sync", "sync", "place", "place"]


# --------------------------------------------------------------------------- what is refused


def test_a_folder_is_no_target(tmp_path):
    assert fault(tmp_path) == f"{tmp_path}: found a folder; needs a file name"


@pytest.mark.parametrize("there", [True, False])
def test_a_link_is_no_target(tmp_path, there):
    kept = tmp_path / "kept"
    if there:
        kept.write_bytes(b"old")
    link = tmp_path / "memo.pdf"
    link.symlink_to(kept)
    assert fault(link) == f"{link}: found a link; needs a plain file name"
    assert link.is_symlink()
    assert kept.exists() == there and (not there or kept.read_bytes() == b"old")


def test_a_pipe_is_no_target(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    assert "a device or pipe" in fault(pipe)


def test_a_missing_folder_is_named(tmp_path):
    target = tmp_path / "none" / "memo.pdf"
    assert fault(target) == f"{tmp_path / 'none'}: found no such folder; needs an existing folder"
    assert not (tmp_path / "none").exists()


def test_a_file_where_the_folder_should_be(tmp_path):
    (tmp_path / "plain").write_bytes(b"old")
    text = fault(tmp_path / "plain" / "memo.pdf")
    assert text == f"{tmp_path / 'plain'}: found a file; needs an existing folder"
    assert (tmp_path / "plain").read_bytes() == b"old"


def test_a_name_too_long_is_one_sentence(tmp_path):
    assert "file name too long" in fault(tmp_path / ("x" * 300))


def test_a_name_that_no_system_takes_is_one_sentence(tmp_path):
    assert "null" in fault(tmp_path / "a\0b")
    assert parts(tmp_path) == []


def test_the_input_of_the_run_is_never_replaced(tmp_path):
    form = tmp_path / "plant.xlsx"
    form.write_bytes(b"form")
    other = tmp_path / "." / "plant.xlsx"
    with pytest.raises(OutputError, match="the input of this run; needs another name"):
        files.write(other, b"new", never=[form])
    hard = tmp_path / "same.xlsx"
    os.link(form, hard)
    with pytest.raises(OutputError, match="the input of this run"):
        files.write(hard, b"new", never=[form])
    assert form.read_bytes() == b"form"


# ------------------------------------------------------------------- what fails on the way


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO, errno.EDQUOT])
def test_a_full_disk_touches_nothing(tmp_path, monkeypatch, code):
    target = tmp_path / "memo.pdf"
    target.write_bytes(b"old")
    monkeypatch.setattr(files.os, "fsync", failing(code))
    text = fault(target)
    assert os.strerror(code).lower() in text and str(target) in text and "room" in text
    assert target.read_bytes() == b"old"
    assert parts(tmp_path) == []


def test_a_folder_that_takes_no_file(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "mkstemp", failing(errno.EACCES))
    text = fault(tmp_path / "memo.pdf")
    assert text == (
        f"{tmp_path / 'memo.pdf'}: found permission denied; needs a folder that can be written to"
    )


def test_a_target_open_elsewhere(tmp_path, monkeypatch):
    target = tmp_path / "memo.pdf"
    target.write_bytes(b"old")
    monkeypatch.setattr(files.os, "replace", failing(errno.EACCES))
    text = fault(target)
    assert text.startswith(f"{target}: found permission denied")
    assert text.endswith("close it and run again")
    assert target.read_bytes() == b"old"
    assert parts(tmp_path) == []


def test_an_interrupt_leaves_no_part(tmp_path, monkeypatch):
    def interrupt(_handle):
        raise KeyboardInterrupt

    monkeypatch.setattr(files.os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        files.write(tmp_path / "memo.pdf", b"x")
    assert list(tmp_path.iterdir()) == []


def test_several_files_are_all_on_the_disk_before_the_first_is_replaced(tmp_path, monkeypatch):
    for name in ("a", "b"):
        (tmp_path / name).write_bytes(b"old")
    sync, calls = os.fsync, []

    def second_fails(handle):
        calls.append(handle)
        if len(calls) == 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        sync(handle)

    monkeypatch.setattr(files.os, "fsync", second_fails)
    with pytest.raises(OutputError, match="no space left"):
        files.write_all({tmp_path / "a": b"new", tmp_path / "b": b"new"})
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {"a": b"old", "b": b"old"}


def test_one_refused_target_refuses_the_whole_set(tmp_path):
    (tmp_path / "a").write_bytes(b"old")
    (tmp_path / "b").mkdir()
    with pytest.raises(OutputError, match="b: found a folder"):
        files.write_all({tmp_path / "a": b"new", tmp_path / "b": b"new"})
    assert (tmp_path / "a").read_bytes() == b"old"
    assert parts(tmp_path) == []


def test_a_set_that_stops_half_way_says_which_are_in_place(tmp_path, monkeypatch):
    for name in "abc":
        (tmp_path / name).write_bytes(b"old")
    replace = os.replace

    def refuse_b(part, path):
        if path.name == "b":
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        replace(part, path)

    monkeypatch.setattr(files.os, "replace", refuse_b)
    with pytest.raises(OutputError) as raised:
        files.write_all({tmp_path / name: b"new" for name in "abc"})
    assert str(tmp_path / "b") in str(raised.value)
    assert "(a of this run already in place)" in str(raised.value)
    assert [(tmp_path / name).read_bytes() for name in "abc"] == [b"new", b"old", b"old"]
    assert parts(tmp_path) == []


# -------------------------------------------------------------------------- strays and folders


def test_strays_of_the_dead_are_swept_and_of_the_living_kept(tmp_path, monkeypatch):
    """A part is made by a writer that dies before it cleans up, once gone and once still there."""
    script = (
        "import os, sys, pathlib; from pcompare import files\n"
        "files.os.fsync = lambda handle: (print('made', flush=True), sys.stdin.read(), os._exit(9))\n"
        "files.write(pathlib.Path(sys.argv[1]) / 'memo.pdf', b'half')"
    )

    def writer():
        process = subprocess.Popen(
            [sys.executable, "-c", script, str(tmp_path)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert process.stdout.readline() == "made\n"
        return process

    dead, living = writer(), writer()
    try:
        dead.communicate("")
        others = [tmp_path / f"{files.MARK}name", tmp_path / f"{files.MARK}00000000-1-x"]
        for other in others:  # of another computer, or not ours at all
            other.write_bytes(b"")
        assert len(parts(tmp_path)) == 4
        files.write(tmp_path / "memo.pdf", b"whole")
        left = parts(tmp_path)
        assert not any(f"-{dead.pid}-" in name for name in left)
        assert sum(f"-{living.pid}-" in name for name in left) == 1
        assert all(other.name in left for other in others)
        assert (tmp_path / "memo.pdf").read_bytes() == b"whole"
    finally:
        living.communicate("")
    files.write(tmp_path / "memo.pdf", b"again")
    assert not any(f"-{living.pid}-" in name for name in parts(tmp_path))


def test_a_folder_is_made_with_those_above_it(tmp_path):
    deep = tmp_path / "a" / "b"
    assert files.ensure_folder(deep) == deep
    assert deep.is_dir()
    assert files.ensure_folder(deep) == deep


@pytest.mark.parametrize("below", ["plain", "plain/deeper"])
def test_a_file_is_no_folder(tmp_path, below):
    (tmp_path / "plain").write_bytes(b"old")
    with pytest.raises(OutputError, match="found a file of that name; needs a folder"):
        files.ensure_folder(tmp_path / below)
    assert (tmp_path / "plain").read_bytes() == b"old"


def test_a_folder_that_cannot_be_made(tmp_path):
    with pytest.raises(OutputError, match="file name too long"):
        files.ensure_folder(tmp_path / ("x" * 300))
