"""Files on their way in: names, limits, nothing lost, and what was said of them."""

import io

import pytest

from dashboard import incoming as rules
from dashboard.app import make_app
from dashboard.incoming import Answers, FileAnswers, Incoming, plain_name
from shiftlog.errors import StoreError


@pytest.fixture
def incoming(tmp_path) -> Incoming:
    return Incoming(tmp_path / "incoming")


def send(incoming, token, name, body: bytes, *, size=None):
    return incoming.receive(token, name, io.BytesIO(body), size=len(body) if size is None else size)


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("lever.csv", "lever.csv"),
        ("../../etc/passwd.csv", "passwd.csv"),
        ("C:\\logs\\run 2.csv", "run 2.csv"),
        (".hidden.csv", "hidden.csv"),
        ("a\x00b\nc.csv", "a_b_c.csv"),
        ("Fahrt-Überland.csv", "Fahrt-Überland.csv"),
        ("x" * 300 + ".csv", "x" * 100 + ".csv"),
        ("..", "log"),
    ],
)
def test_names_lose_folders_and_strange_signs(given, kept):
    assert plain_name(given) == kept


def test_a_file_stands_on_disk_as_it_was_sent_and_a_second_of_its_name_beside_it(incoming):
    token = incoming.begin()
    assert send(incoming, token, "a.csv", b"one") == "a.csv"
    assert send(incoming, token, "a.csv", b"one") == "a.csv"
    assert send(incoming, token, "a.csv", b"two") == "a-2.csv"
    assert [f.read_bytes() for f in incoming.files(token)] == [b"two", b"one"]
    assert incoming.pending() == (token,)
    incoming.remove(token, "a.csv")
    assert [f.name for f in incoming.files(token)] == ["a-2.csv"]
    incoming.clear(token)
    assert incoming.pending() == ()


@pytest.mark.parametrize(
    ("name", "body", "size", "words"),
    [
        ("photo.jpg", b"x", None, "is no log; logs end in .csv"),
        ("a.csv", b"", None, "is empty"),
        ("a.csv", b"x", rules.MOST_BYTES + 1, "is the most"),
        ("a.csv", b"half", 8, "only 4 of 8 bytes arrived"),
    ],
)
def test_what_cannot_be_taken_is_refused_in_one_line_and_leaves_nothing(incoming, name, body, size, words):
    token = incoming.begin()
    with pytest.raises(StoreError, match=words) as told:
        send(incoming, token, name, body, size=size)
    assert "\n" not in str(told.value) and name in str(told.value)
    assert list((incoming.folder(token) / "logs").iterdir()) == []


def test_a_full_disk_is_told_before_anything_is_written(incoming, monkeypatch):
    token = incoming.begin()
    monkeypatch.setattr(rules, "FREE_BYTES", 1 << 62)
    with pytest.raises(StoreError, match="does not fit"):
        send(incoming, token, "a.csv", b"x")


def test_more_files_than_make_a_drive_are_refused(incoming, monkeypatch):
    monkeypatch.setattr(rules, "MOST_FILES", 2)
    token = incoming.begin()
    for name in ("a.csv", "b.csv"):
        send(incoming, token, name, b"x")
    with pytest.raises(StoreError, match="2 files are here already"):
        send(incoming, token, "c.csv", b"x")


@pytest.mark.parametrize("token", ["", "..", "0" * 16, "../incoming", "A" * 16])
def test_only_a_token_that_was_given_out_leads_anywhere(incoming, token):
    incoming.begin()
    with pytest.raises(StoreError, match="not waiting here any more"):
        incoming.folder(token)


def test_paths_are_referred_to_and_never_touched(incoming, tmp_path):
    folder = tmp_path / "logs"
    folder.mkdir()
    for name in ("a.csv", "b.log", "c.jpg", ".d.csv"):
        (folder / name).write_text("x")
    (tmp_path / "e.csv").write_text("x")
    token = incoming.refer(f'{folder}\n"{tmp_path / "e.csv"}"')
    assert [f.name for f in incoming.files(token)] == ["a.csv", "b.log", "e.csv"]
    incoming.remove(token, "a.csv")
    assert [f.name for f in incoming.files(token)] == ["b.log", "e.csv"]
    incoming.clear(token)
    assert (folder / "a.csv").is_file() and (tmp_path / "e.csv").is_file()


@pytest.mark.parametrize("text", ["", "  \n", "/no/such/file.csv"])
def test_a_path_that_leads_nowhere_is_named(incoming, text):
    with pytest.raises(StoreError, match="is no file or folder on this machine"):
        incoming.refer(text)


def test_answers_come_back_as_they_were_given(incoming):
    token = incoming.begin()
    assert incoming.answers(token) == Answers()
    given = Answers(
        name="run 2", stage="after", car="Coupé",
        files={"a.csv": FileAnswers(place="body", columns={"v [?]": ("vehicle_speed", "km/h"), "x": ("", "g")})},
    )  # fmt: skip
    incoming.keep(token, given)
    assert incoming.answers(token) == given


@pytest.fixture
def browser_of(empty_library):
    return make_app(empty_library).server.test_client(), empty_library.imports.incoming


def test_a_file_sent_by_the_page_arrives(browser_of):
    client, incoming = browser_of
    token = client.put("/incoming").get_json()["token"]
    body = b"0123456789" * 300_000
    assert client.put(f"/incoming/{token}/run%201.csv", data=body).get_json() == {"name": "run 1.csv"}
    assert incoming.files(token)[0].read_bytes() == body


def test_a_file_that_cannot_be_taken_is_answered_with_the_reason(browser_of):
    client, incoming = browser_of
    token = client.put("/incoming").get_json()["token"]
    assert "is no log" in client.put(f"/incoming/{token}/photo.jpg", data=b"x").get_json()["why"]
    assert "not waiting here" in client.put("/incoming/ffff/a.csv", data=b"x").get_json()["why"]
    assert client.put(f"/incoming/{token}/..%2f..%2fa.csv", data=b"x").get_json() == {"name": "a.csv"}
    assert incoming.files(token)[0].parent == incoming.folder(token) / "logs"


def test_a_page_of_another_address_may_not_write(browser_of):
    client, incoming = browser_of
    token = incoming.begin()
    for address in ("/incoming", f"/incoming/{token}/a.csv"):
        answer = client.put(address, data=b"x", headers={"Origin": "http://elsewhere.example"})
        assert answer.status_code == 403
    assert incoming.files(token) == ()
    assert client.put("/incoming", headers={"Origin": "http://localhost"}).status_code == 200


@pytest.mark.parametrize("path", ["~nobody-of-this-name/x.csv", "/" + "x" * 5000, "/dev/null/x", "a\x00.csv"])
def test_a_path_that_leads_nowhere_is_one_line(incoming, path):
    with pytest.raises(StoreError, match="is no file or folder on this machine"):
        incoming.refer(path)


def test_a_file_that_is_no_log_and_two_of_one_name_are_refused(incoming, tmp_path):
    for name in ("p/a.csv", "q/a.csv", "q/letter.pdf"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text("time [s],select [count]\n")
    with pytest.raises(StoreError, match="two files have this name"):
        incoming.refer(f"{tmp_path / 'p/a.csv'}\n{tmp_path / 'q/a.csv'}")
    with pytest.raises(StoreError, match="is no log"):
        incoming.refer(str(tmp_path / "q/letter.pdf"))
