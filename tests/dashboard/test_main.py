"""Serving: from this machine alone unless asked, on a free port."""

import http.client
import os
import socket
import threading
from argparse import Namespace
from contextlib import contextmanager

import pytest

import dashboard.__main__ as main
from dashboard.hosts import check_hosts
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


@pytest.mark.skipif(os.name != "posix", reason="Windows lets a port just left be taken at once")
def test_a_port_just_left_can_be_taken_again():
    """Who closes first has a socket that waits a minute (TIME_WAIT, RFC 9293, section 3.6.1)."""
    with socket.socket() as heard:
        heard.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        heard.bind(("127.0.0.1", 0))
        heard.listen()
        port = heard.getsockname()[1]
        caller = socket.create_connection(("127.0.0.1", port))
        heard.accept()[0].close()
        caller.close()
    assert main.free_port("127.0.0.1", port) == port


@contextmanager
def serving(library, *, host="127.0.0.1"):
    """A real server; gives its port."""
    server = main.make_server(library, host=host, port=0)
    server.prepare()
    thread = threading.Thread(target=server.serve, daemon=True)
    thread.start()
    try:
        yield server.bind_addr[1]
    finally:
        server.stop()
        thread.join(10)


def ask(port, host, *, method="GET", path="/compare"):
    """Status and text of the answer to a request that names ``host``."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    connection.putrequest(method, path, skip_host=True)
    if host is not None:
        connection.putheader("Host", host)
    connection.endheaders()
    answer = connection.getresponse()
    said = answer.status, answer.read().decode("utf-8")
    connection.close()
    return said


def test_the_server_answers_with_the_page(empty_library):
    with serving(empty_library) as port:
        for host in (f"127.0.0.1:{port}", f"localhost:{port}", "LOCALHOST", f"[::1]:{port}", "[::1]"):
            status, text = ask(port, host)
            assert status == 200 and "shiftlog" in text


@pytest.mark.parametrize("host", ["rebound.example", "127.0.0.1.rebound.example:80", "10.0.0.7", "[::2]:80", ""])
def test_a_name_that_was_made_to_point_here_is_refused_with_one_line(empty_library, host):
    with serving(empty_library) as port:
        for method, path in (("GET", "/compare"), ("PUT", "/incoming"), ("POST", "/_dash-update-component")):
            status, text = ask(port, host, method=method, path=path)
            assert status == 403 and len(text.splitlines()) == 1 and "localhost" in text
    assert empty_library.imports.incoming.pending() == ()


@pytest.mark.parametrize("bound", ["0.0.0.0", "127.0.0.1"])
def test_addresses_of_the_network_are_answered_only_where_all_are_served(empty_library, bound):
    with serving(empty_library, host=bound) as port:
        assert ask(port, f"192.168.1.20:{port}")[0] == (200 if bound == "0.0.0.0" else 403)
        assert ask(port, socket.gethostname())[0] == (200 if bound == "0.0.0.0" else 403)
        assert ask(port, "rebound.example")[0] == 403


def test_the_host_it_was_told_is_its_own():
    answered = check_hosts(lambda environ, start: [b"page"], bound="Bench.lan")
    assert list(answered({"HTTP_HOST": "bench.lan:8052"}, lambda *_: None)) == [b"page"]
    assert list(answered({}, lambda *_: None)) != [b"page"]


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
    (job,) = library.jobs.all()
    assert (job.version, job.job.drives_before) == (2, (library.drives()[0].id,))
    monkeypatch.setattr(main, "__version__", "another")
    main.prepare_demo(library, say=said.append)
    assert len(made) == 2 and len(library.drives()) == 1 and len(library.jobs.all()) == 1
