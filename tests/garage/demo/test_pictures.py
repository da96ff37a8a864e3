"""The drawn garage photos: real JPEGs, the same every time, unlike each other.

File facts are checked against Pillow's decoder and the Exif 2.32 tag numbers (CIPA DC-008:
DateTimeOriginal 0x9003, OffsetTimeOriginal 0x9011, Exif IFD pointer 0x8769).
"""

import io
from datetime import UTC, datetime, timedelta, timezone
from itertools import combinations

import pytest
from PIL import Image, ImageStat

from garage.demo.pictures import LOOKS, MOMENTS, draw
from garage.demo.subjects import SUBJECTS, solid

SMALL = (320, 240)
EXIF_IFD, DATE_TIME_ORIGINAL, OFFSET_TIME_ORIGINAL = 0x8769, 0x9003, 0x9011


def opened(data: bytes) -> Image.Image:
    picture = Image.open(io.BytesIO(data))
    picture.load()
    return picture


def small(subject: str, *, look: str = "zinc", moment: str = "off", seed: int = 1) -> Image.Image:
    return opened(draw(subject, look=look, moment=moment, seed=seed, size=SMALL))


def spread(picture: Image.Image) -> list[float]:
    counts = picture.resize((160, 120)).histogram()
    return [sum(counts[k : k + 16]) / (160 * 120) for k in range(0, 768, 16)]


def distance(one: Image.Image, other: Image.Image) -> float:
    """Share of the pixels that fall in other brightness steps, summed over the three colours."""
    return sum(abs(p - q) for p, q in zip(spread(one), spread(other), strict=True)) / 2


def test_a_picture_is_a_jpeg_of_a_phone_photos_shape_and_weight() -> None:
    data = draw("pulley", look="rusty", moment="off", seed=7)

    picture = opened(data)

    assert (picture.format, picture.mode, picture.size) == ("JPEG", "RGB", (1200, 900))
    assert 30_000 < len(data) < 260_000


def test_a_picture_can_be_asked_for_in_another_size() -> None:
    assert small("lever").size == SMALL


@pytest.mark.parametrize("moment", MOMENTS)
def test_one_seed_always_gives_the_same_bytes(moment: str) -> None:
    first = draw("water pump", look="rusty", moment=moment, seed=3, size=SMALL)
    draw("drum", look="greasy", moment="off", seed=9, size=SMALL)

    again = draw("water pump", look="rusty", moment=moment, seed=3, size=SMALL)

    assert again == first


def test_another_seed_gives_another_picture() -> None:
    pictures = {draw("drum", look="rusty", moment="off", seed=k, size=SMALL) for k in range(4)}

    assert len(pictures) == 4


@pytest.mark.parametrize("subject", SUBJECTS)
def test_every_subject_shows_something_with_light_and_dark(subject: str) -> None:
    tones = ImageStat.Stat(small(subject).convert("L"))

    low, high = tones.extrema[0]

    assert high - low > 90
    assert tones.stddev[0] > 12


@pytest.mark.parametrize("subject", SUBJECTS)
def test_every_solid_stands_on_the_bench_and_is_two_across(subject: str) -> None:
    (x0, y0, z0), (x1, y1, z1) = solid(subject).bounds()

    assert z0 == pytest.approx(0, abs=1e-9)
    assert max(x1 - x0, y1 - y0, z1 - z0) == pytest.approx(2)


def test_there_are_at_least_thirty_subjects() -> None:
    assert len(SUBJECTS) >= 30


def test_subjects_differ_from_each_other() -> None:
    names = ("pulley", "hose", "fuel tank", "brake disc", "bolts", "engine bay")
    pictures = [small(name) for name in names]

    assert min(distance(a, b) for a, b in combinations(pictures, 2)) > 0.1


def test_looks_differ_on_the_same_part() -> None:
    pictures = [small("drum face", look=look, moment="back") for look in LOOKS]

    assert min(distance(a, b) for a, b in combinations(pictures, 2)) > 0.05


def test_a_rusty_part_is_redder_than_a_zinc_plated_one() -> None:
    rusty, plated = (
        ImageStat.Stat(small("drum face", look=look, moment="in_place").crop((110, 80, 210, 160)))
        for look in ("rusty", "zinc")
    )

    assert rusty.mean[0] / rusty.mean[2] > 1.3 * plated.mean[0] / plated.mean[2]


def test_a_part_in_the_bay_is_darker_than_on_clean_paper() -> None:
    bay, bench = (
        ImageStat.Stat(small("lever", moment=moment, seed=5).convert("L")).mean[0]
        for moment in ("in_place", "back")
    )

    assert bay < bench


@pytest.mark.parametrize(
    "wrong",
    [
        {"subject": "flux capacitor"},
        {"look": "gold"},
        {"moment": "yesterday"},
    ],
)
def test_an_unknown_word_is_refused_by_name(wrong: dict[str, str]) -> None:
    words = {"subject": "lever", "look": "zinc", "moment": "off"} | wrong

    with pytest.raises(ValueError, match=next(iter(wrong.values()))):
        draw(words["subject"], look=words["look"], moment=words["moment"], seed=1, size=SMALL)


@pytest.mark.parametrize(
    ("zone", "offset"),
    [(None, None), (UTC, "+00:00"), (timezone(timedelta(hours=-3, minutes=-30)), "-03:30")],
)
def test_the_time_taken_is_written_where_a_camera_writes_it(
    zone: timezone | None, offset: str | None
) -> None:
    taken = datetime(2025, 3, 9, 14, 5, 59, tzinfo=zone)
    data = draw("lever", look="zinc", moment="off", seed=1, size=SMALL, taken_at=taken)

    details = opened(data).getexif().get_ifd(EXIF_IFD)

    assert details[DATE_TIME_ORIGINAL] == "2025:03:09 14:05:59"
    assert details.get(OFFSET_TIME_ORIGINAL) == offset


def test_a_picture_without_a_time_carries_no_exif() -> None:
    assert dict(small("lever").getexif()) == {}
