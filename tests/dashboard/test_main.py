"""Serving: from this machine alone unless asked, on a free port."""

import socket
import threading
import urllib.request
from argparse import Namespace

import pytest

import dashboard.__main__ as main
from shiftlog.errors import StoreError


def test_it_serves_this_machine_alone_by_default():
    assert main.HOST == "127.0.0.1"


def test_a_taken_port_is_named_and_a_free_one_found():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(StoreError, match=f"port {port}"):
            main.free_port("127.0.0.1", port)
    assert main.PORT <= main.free_port("127.0.0.1", None) < main.PORT + main.TRIED_PORTS


def test_the_server_answers_with_the_page(empty_library):
    server = main.make_server(empty_library, host="127.0.0.1", port=0)
    server.prepare()
    thread = threading.Thread(target=server.serve, daemon=True)
    thread.start()
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{server.bind_addr[1]}/compare", timeout=10) as answer:
            assert answer.status == 200 and b"shiftlog" in answer.read()
    finally:
        server.stop()
        thread.join(10)


def test_serve_opens_the_workshop_prints_the_address_and_the_browser_only_if_wanted(tmp_path, monkeypatch, capsys):
    opened = []
    monkeypatch.setattr(main.webbrowser, "open", opened.append)
    monkeypatch.setattr(main.Server, "serve", lambda self: None)
    args = Namespace(workshop=tmp_path / "w", port=None, no_browser=True, host=None)
    assert main.serve(args) == 0
    assert "http://127.0.0.1:" in capsys.readouterr().out and opened == [] and (tmp_path / "w").is_dir()


def test_the_cache_lies_where_the_user_keeps_it(tmp_path, monkeypatch):
    monkeypatch.setattr(main.sys, "platform", "linux")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert main.user_cache() == tmp_path / "shiftlog"


def test_the_demo_is_made_and_measured_once_by_each_version(tmp_path, drive_folders, monkeypatch):
    made = []

    def make(folder, progress):
        made.append(folder)
        progress("making")
        return [drive_folders["before"]]

    monkeypatch.setattr(main, "make_demo", make)
    library, said = main.Library.open(tmp_path), []
    main.prepare_demo(library, say=said.append)
    main.prepare_demo(library, say=said.append)
    assert said == ["making", "measuring before"] and len(made) == 1
    assert [entry.measured for entry in library.drives()] == [True]
    monkeypatch.setattr(main, "__version__", "another")
    main.prepare_demo(library, say=said.append)
    assert len(made) == 2 and len(library.drives()) == 1
