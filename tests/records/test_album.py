"""Photographs of a server's store; the server here is any store that can be switched off."""

import pytest

from diagnose.case import Case
from diagnose.records import outbox as outbox_module
from diagnose.records import photos
from diagnose.records.album import SteadyAlbum
from diagnose.records.errors import ServerLostError, StoreError
from tests.records.acts import AT, LATER, new, token
from tests.records.test_photos import JPEG, PNG


@pytest.fixture
def album(seat, box):
    return SteadyAlbum(seat, box)


def add(album, case_id, data, name="disc.jpg", caption=""):
    album.add_photo(case_id, data, name, caption, "ada", AT)


def names(album, case_id):
    return [(p.name, p.caption, p.sent) for p in album.photos(case_id)]


def test_with_the_server_there_it_is_the_stores(album, store):
    kept = new(store)
    add(album, kept.id, JPEG, caption="hot spots")
    (photo,) = album.photos(kept.id)
    assert store.photos(kept.id) == (photo,)
    assert album.photo(photo.id) == JPEG
    album.caption_photo(photo.id, "cracks", "ben", LATER)
    assert store.photos(kept.id)[0].caption == "cracks"
    album.remove_photo(photo.id, "ben", LATER)
    assert album.photos(kept.id) == ()


def test_what_is_added_with_the_server_away_waits_here_and_is_sent(album, seat, line, store):
    kept = new(store)
    add(album, kept.id, PNG, "fork.png")
    line.cut = "before"
    add(album, kept.id, JPEG, caption="hot spots")
    add(album, kept.id, JPEG, "again.jpg")  # the very same one
    (waiting,) = album.photos(kept.id)
    assert (waiting.name, waiting.caption, waiting.kind) == ("disc.jpg", "hot spots", "jpeg")
    assert (waiting.size, waiting.by, waiting.at, waiting.sent) == (len(JPEG), "ada", AT, False)
    assert album.photo(waiting.id) == JPEG
    line.cut = ""
    assert names(album, kept.id) == [("fork.png", "", True), ("disc.jpg", "hot spots", True)]
    assert [p.name for p in store.photos(kept.id)] == ["fork.png", "disc.jpg"]
    with pytest.raises(StoreError, match="has been sent"):
        album.photo(waiting.id)


def test_one_that_waits_is_described_and_taken_away_here(album, line, store):
    kept = new(store)
    line.cut = "before"
    add(album, kept.id, JPEG)
    add(album, kept.id, PNG, "fork.png")
    first, second = album.photos(kept.id)
    album.caption_photo(first.id, "cracks", "ada", LATER)
    album.remove_photo(second.id, "ada", LATER)
    assert names(album, kept.id) == [("disc.jpg", "cracks", False)]
    line.cut = ""
    assert names(album, kept.id) == [("disc.jpg", "cracks", True)]


def test_words_written_after_its_answer_was_lost_arrive(album, line, store):
    kept = new(store)
    line.cut = "after"
    add(album, kept.id, JPEG)
    album.caption_photo(album.photos(kept.id)[0].id, "cracks", "ada", LATER)
    line.cut = ""
    assert names(album, kept.id) == [("disc.jpg", "cracks", True)]
    assert len(store.photos(kept.id)) == 1


def test_a_photograph_of_a_case_begun_meanwhile_goes_after_the_case(album, seat, line, store):
    line.cut = "before"
    kept = seat.new(Case(title="a"), "ada", AT, token())
    add(album, kept.id, JPEG)
    assert names(album, kept.id) == [("disc.jpg", "", False)]
    line.cut = ""
    seat.send()
    assert [p.name for p in store.photos(kept.id)] == ["disc.jpg"]
    assert not seat.waits(kept.id)


def test_what_needs_the_server_says_that_it_is_away_and_changes_nothing(album, line, store):
    kept = new(store)
    add(album, kept.id, JPEG, caption="hot spots")
    (photo,) = album.photos(kept.id)
    line.cut = "before"
    for ask in (
        lambda: album.photos(kept.id),
        lambda: album.photo(photo.id),
        lambda: album.caption_photo(photo.id, "cracks", "ada", LATER),
        lambda: album.remove_photo(photo.id, "ada", LATER),
    ):
        with pytest.raises(ServerLostError):
            ask()
    line.cut = ""
    assert album.photos(kept.id) == (photo,)


def test_what_is_no_picture_or_refused_is_told_at_once_and_does_not_wait(
    album, seat, box, store, monkeypatch
):
    kept = new(store)
    with pytest.raises(StoreError, match="neither a JPEG nor a PNG"):
        add(album, kept.id, b"GIF89a")
    monkeypatch.setattr(photos, "MAX_PHOTOS", 1)
    add(album, kept.id, JPEG)
    with pytest.raises(StoreError, match="1 photos already"):
        add(album, kept.id, PNG)
    assert box.tokens() == ()


def test_a_refused_one_holds_up_no_answer(album, seat, line, store, monkeypatch):
    kept = new(store)
    monkeypatch.setattr(photos, "MAX_PHOTOS", 0)
    line.cut = "before"
    add(album, kept.id, JPEG)
    left = seat.keep(kept, Case(title="a"), "ada", LATER, token())
    line.cut = ""
    seat.send()
    assert store.read(kept.id).case == left.case
    ((_, why),) = seat.refused()
    assert "0 photos already" in why
    assert names(album, kept.id) == [("disc.jpg", "", False)]


def test_only_so_many_wait_and_nothing_else_is_lost(album, line, store, monkeypatch):
    kept = new(store)
    line.cut = "before"
    monkeypatch.setattr(outbox_module, "MAX_PHOTOS_BYTES", len(JPEG) + 10)
    add(album, kept.id, JPEG)
    with pytest.raises(StoreError, match=r"wait for the server already.*Nothing else is lost"):
        add(album, kept.id, PNG, "fork.png")
    assert names(album, kept.id) == [("disc.jpg", "", False)]
