"""Real logs (shared data; each folder's SOURCE.txt says where they come from), written in other forms of text."""

import pytest

from tests.open_data.bench import Bench, every_log
from tests.open_data.real_logs import joined

pytestmark = pytest.mark.open_data


def comma_to(separator: str, *, decimal: str = "."):
    def damage(lines: list[str]) -> bytes:
        head = lines[0].replace(";", " ").replace(",", separator)
        rows = [separator.join(cell.replace(".", decimal) for cell in line.split(",")) for line in lines[1:]]
        return joined([head, *rows])

    return damage


FORMS = {
    "semicolons": comma_to(";"),
    "tabs": comma_to("\t"),
    "bars": comma_to("|"),
    "blanks around semicolons": comma_to(" ; "),
    "blanks around commas": comma_to(" ,  "),
    "decimal commas": comma_to(";", decimal=","),
    "decimal commas and tabs": comma_to("\t", decimal=","),
    "a byte-order mark": lambda lines: b"\xef\xbb\xbf" + joined(lines),
    "UTF-16 with its mark": lambda lines: joined(lines).decode().encode("utf-16"),
    "UTF-16, big end first": lambda lines: b"\xfe\xff" + joined(lines).decode().encode("utf-16-be"),
    "UTF-16 without a mark": lambda lines: joined(lines).decode().encode("utf-16-le"),
    "Latin-1": lambda lines: joined(lines).decode().encode("latin-1"),
    "line ends of two bytes": lambda lines: joined(lines, end="\r\n"),
    "line ends of the other byte": lambda lines: joined(lines, end="\r"),
    "no line end at the end": lambda lines: joined(lines)[:-1],
    "comment lines on top": lambda lines: joined(["# recorded by a shop, run 3", "// kept, as it was", *lines]),
    "a preamble": lambda lines: joined(["Recorder of the shop", "Driver: B", "", *lines]),
    "empty lines": lambda lines: joined([lines[0], "", *lines[1:500], "", "", *lines[500:], "", ""]),
    "a separator at each row's end": lambda lines: joined([line + "," for line in lines]),
}


@every_log
@pytest.mark.parametrize("form", FORMS)
def test_another_form_of_writing_changes_nothing(bench: Bench, form: str) -> None:
    bench.assert_same(bench.read(FORMS[form](bench.lines)), mended={})
