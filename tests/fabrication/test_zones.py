"""What is told apart at the ends of a pipe in space."""

import pytest

from fabrication.core.bender import TubeEnd
from fabrication.core.tube_ends import Bead
from fabrication.drawn import solid
from fabrication.drawn.solid import Zone
from fabrication.drawn.zones import zones_of
from fabrication.pipe.inputs import BEAD, HOSE, PLAIN, End, Length, PipeInputs
from fabrication.pipe.worked import EndSum, WorkedOut
from tests.fabrication.pipe_rows import pipe_of


def found(end_a: EndSum | None = None, end_b: EndSum | None = None) -> WorkedOut:
    return WorkedOut(None, None, (), (), end_a, end_b)


def pipe(**ends: End) -> PipeInputs:
    return pipe_of((100, 0, 90), last_mm=120, **ends)


def test_a_plain_end_has_nothing_to_tell() -> None:
    plain = EndSum(TubeEnd())

    assert zones_of(found(plain, plain), pipe(end_a=End(form=PLAIN))) == ()


def test_behind_a_bead_the_hose_goes_as_far_as_its_clip_needs() -> None:
    """Bead at 8, 6 wide: it ends at 11; 3 to the clip of 9, 6 from there to the end of the hose."""
    beaded = EndSum(TubeEnd(), Bead(height_mm=1.5, width_mm=6, centre_mm=8))

    told = zones_of(found(beaded), pipe(end_a=End(form=BEAD, clip_width=Length(9.0))))

    assert told == (Zone(solid.BEAD, "A", 11, 5, 1.5), Zone(solid.HOSE, "A", 29))


def test_a_clip_that_was_not_measured_is_taken_for_a_wide_one() -> None:
    told = zones_of(found(end_b=EndSum(TubeEnd())), pipe(end_b=End(form=HOSE)))

    assert told == (Zone(solid.HOSE, "B", 3 + 12 + 6),)


@pytest.mark.parametrize(("guessed_mm", "ends"), [((30.0, 0.0), ["A"]), ((30.0, 12.0), ["A", "B"])])
def test_what_is_guessed_is_told_of_its_end(
    guessed_mm: tuple[float, float], ends: list[str]
) -> None:
    told = zones_of(found(), pipe(), guessed_mm=guessed_mm)

    assert [(zone.kind, zone.end) for zone in told] == [(solid.LOST, end) for end in ends]
    assert told[0].to_mm == 30.0
