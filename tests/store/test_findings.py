"""Findings and the synchroniser index, written and read back."""

import json

from shiftlog.model.drive import DriveHead
from shiftlog.model.result import DriveResult, Finding, Summary, SynchroRow
from shiftlog.model.share import Share
from shiftlog.store.document import document_text, document_to_result, result_to_document

FINDING = Finding(
    what="Teeth clashed into 3 only.", evidence=("shift 14", "a test"), look_at=("the cone",),
    also_looks_like=("a quick hand",), next_test="ten more", shifts=(14,),
)  # fmt: skip
ROW = SynchroRow(
    gear="3", direction="up", band="cold", side="hub", n=8, shifts=(1, 14), reading="none of 4 quick shifts crashed",
    slope_ms_per_krpm=70.0, u_ms_per_krpm=4.0, interval95=(62.0, 78.0), offset_ms=-12.0,
    crash_through=Share(k=0, n=4, low=0.0, high=0.602),
)  # fmt: skip
BARE = SynchroRow(
    gear="4", direction="down", band="not known", side="engine", n=0, shifts=(2,), reading="not known",
    unmeasured={"synchro_slope_ms_per_krpm": "too few", "crash_through_share": "not heard"},
)  # fmt: skip


def written(**different) -> dict:
    result = DriveResult(
        head=DriveHead(id="run"), car="Test car", version="0", settings={}, inputs=(), clock_recording="lever",
        clock_zero_s=0.0, recordings=(), left_out=(), gate=None, gate_why="no lever", shifts=(), rests=(), rejected=(),
        **({"summary": Summary()} | different),
    )  # fmt: skip
    return json.loads(document_text(result_to_document(result)))


def test_a_finding_has_its_keys_and_comes_back():
    document = written(findings=(FINDING,))
    (plain,) = document["findings"]
    assert {"what", "evidence", "look_at", "also_looks_like", "kind"} <= set(plain)
    assert plain["evidence"] == ["shift 14", "a test"] and plain["kind"] == "common practice"
    (back,) = document_to_result(document).findings
    assert vars(back) == vars(FINDING)


def test_rows_of_the_synchroniser_index_come_back_with_their_reasons():
    document = written(summary=Summary(synchro=(ROW, BARE)))
    assert document["summary"]["synchro"][1]["slope_ms_per_krpm"] is None
    row, bare = document_to_result(document).summary.synchro
    assert (row.interval95, row.crash_through.n, row.offset_ms) == ((62.0, 78.0), 4, -12.0)
    assert bare.crash_through is None and bare.unmeasured["crash_through_share"] == "not heard"


def test_a_result_without_them_is_read_as_before():
    document = written()
    assert document["findings"] == []
    del document["summary"]["synchro"], document["findings"]
    back = document_to_result(document)
    assert back.findings == () and back.summary.synchro == ()
