"""What the terminal says of findings: all of each, and that they are no diagnosis."""

from types import SimpleNamespace

from shiftlog.commands.findings_text import finding_lines
from shiftlog.model.result import Finding

FINDING = Finding(
    what="Teeth clashed into 3 only: in 5 of 6 shifts.", evidence=("shift 4", "shift 14", "a test: p = 0.001"),
    look_at=("the cone", "the fork"), also_looks_like=("a quick hand",), next_test="ten slow and ten quick shifts",
)  # fmt: skip


def test_each_finding_says_its_evidence_what_to_do_and_what_looks_the_same():
    said = "\n".join(finding_lines(SimpleNamespace(findings=(FINDING,))))
    for part in (FINDING.what, "shift 4, shift 14", "the cone; the fork", "a quick hand", "ten slow and ten quick"):
        assert part in said
    assert "No diagnosis" in said and "trained technician" in " ".join(said.split())


def test_nothing_is_printed_where_nothing_stands_out():
    assert finding_lines(SimpleNamespace(findings=())) == []
