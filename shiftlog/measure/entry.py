"""One entry of the catalogue of measures, and where definitions come from."""

from dataclasses import dataclass

DEFINITION = "definition of this project"
IEEE_181 = "IEEE Std 181-2011, 10/50/90 % reference levels"
ISO_2631 = "ISO 2631-1:1997, weighted as in ISO 8041-1:2017"
KINEMATICS = "n = v / (2π r) · i_gear · i_final · 60"
CLASH = "f = z · |Δn| / 60, tooth meshing applied to dogs; no published worked example"

CLASH_NEEDS = "an accelerometer at the gearbox or the lever, 800 Hz or faster"
LEVER_NEEDS = "a lever sensor"


@dataclass(frozen=True, eq=False, kw_only=True)
class Measure:
    """One figure the product can print.

    key : name in the result document; label : words for people; unit : as printed, "" where there is none
    definition : one sentence; source : where the definition comes from
    better : ``lower`` | ``higher`` | None where neither is
    plausible : (low, high) outside which a figure is worth a second look
    margin : a difference smaller than this does not matter (common practice, no source), or None
    of : ``shift`` | ``rest`` | ``drive`` | ``test``
    needs : the sensors it takes, in words
    test, figure : kind of guided test and key of its figure, for a measure that a marked test gives, else ""
    size_only : whether it is signed and its size alone tells better from worse
    least : whether the smallest of a drive's gears stands for all of them, else their mean
    counted : what one value of it is of, as the word for one of them; "" where ``of`` is that word
    """

    key: str
    label: str
    unit: str
    definition: str
    source: str
    better: str | None
    plausible: tuple[float, float]
    of: str
    needs: str
    margin: float | None = None
    counted: str = ""
    test: str = ""
    figure: str = ""
    size_only: bool = False
    least: bool = False

    @property
    def noun(self) -> str:
        """What one value is of: a shift, a rest, a push."""
        return self.counted or self.of
