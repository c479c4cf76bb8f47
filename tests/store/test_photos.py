"""Photos: only real ones, only so large, and nothing in them but the picture."""

import io

import pytest
from PIL import Image

from shiftlog.errors import StoreError
from shiftlog.model.job import Job
from shiftlog.store.jobs import Jobs
from shiftlog.store.photos import MOST_BYTES, keep_photo, photo_bytes, shrink_photo
from shiftlog.store.workshop import Workshop


def picture(size=(60, 40), mode="RGB", form="JPEG", **how):
    written = io.BytesIO()
    Image.new(mode, size, "orange" if mode == "RGB" else 1).save(written, form, **how)
    return written.getvalue()


def with_place():
    """A phone's photo: turned by its orientation tag, with a maker and a place on earth in it."""
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "Some phone"
    exif.get_ifd(0x8825)[2] = (50.0, 1.0, 2.0)
    return picture(exif=exif)


def test_a_photo_is_kept_without_what_the_camera_added(tmp_path):
    data = with_place()
    assert b"Some phone" in data
    photo = keep_photo(tmp_path, data, name="plug.jpg", of="plug", caption=" flakes ")
    kept = photo_bytes(tmp_path, photo.sha256)
    assert b"Some phone" not in kept and b"Exif" not in kept
    assert not dict(Image.open(io.BytesIO(kept)).getexif())
    assert (photo.width, photo.height, photo.caption) == (40, 60, "flakes")  # turned upright


@pytest.mark.parametrize("form", ["PNG", "WEBP", "TIFF", "GIF"])
def test_other_forms_of_picture_are_taken(tmp_path, form):
    assert keep_photo(tmp_path, picture(form=form), name="a", of="oil").width == 60


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is no photo"), (b"%PDF-1.7 no picture", "is no photo"), (b"<svg onload='x()'/>", "is no photo"),
        (picture()[:300], "is no photo"), (b"\xff" * (MOST_BYTES + 1), "a photo may have 25 MB"),
        (picture((10_000, 10_000), mode="1", form="PNG"), "has 100 MP; 50 MP are the most"),
        (picture((20_000, 20_000), mode="1", form="PNG"), "50 MP are the most"),
    ],
    ids=["empty", "document", "drawing", "cut off", "too many bytes", "100 MP", "400 MP"],
)  # fmt: skip
def test_what_is_no_photo_gets_one_line(tmp_path, data, said):
    with pytest.raises(StoreError, match=said) as caught:
        keep_photo(tmp_path, data, name="plug.jpg", of="plug")
    assert str(caught.value).startswith("plug.jpg: ") and "\n" not in str(caught.value)
    assert not list(tmp_path.iterdir())


def test_a_photo_stays_with_earlier_versions_and_the_same_one_counts_once(tmp_path):
    jobs = Jobs(Workshop.open(tmp_path))
    first = jobs.new(Job(car="Test car"))
    second = jobs.add_photo(first.id, picture(), name="a.jpg", of="plug", caption="paste")
    assert jobs.add_photo(first.id, picture(), name="a.jpg", of="plug", caption="paste").version == second.version
    without = jobs.save(second, Job(car="Test car"))
    assert without.job.photos == () and jobs.photo(jobs.job(first.id, 2).job.photos[0].sha256) is not None


def test_a_photo_that_was_changed_or_is_gone_is_not_shown(tmp_path):
    photo = keep_photo(tmp_path, picture(), name="a.jpg", of="oil")
    path = tmp_path / f"{photo.sha256}.jpg"
    path.write_bytes(picture((30, 30)))
    assert photo_bytes(tmp_path, photo.sha256) is None
    path.unlink()
    assert photo_bytes(tmp_path, photo.sha256) is None
    assert photo_bytes(tmp_path, "../../workshop.sqlite") is None


def test_a_photo_is_made_small_for_a_page(tmp_path):
    photo = keep_photo(tmp_path, picture((3000, 2000)), name="a.jpg", of="oil")
    assert Image.open(io.BytesIO(shrink_photo(photo_bytes(tmp_path, photo.sha256)))).size == (1200, 800)


def test_a_photo_that_is_refused_leaves_nothing_behind(tmp_path):
    with pytest.raises(StoreError):
        keep_photo(tmp_path / "photos", picture(), name="a.jpg", of="the moon")
    assert not (tmp_path / "photos").exists()
