import hashlib
from dataclasses import replace

import pytest

from diagnose.records import photos
from diagnose.records.errors import StoreError
from diagnose.records.kept import What
from tests.records.acts import AT, LATER, new, token

JPEG = b"\xff\xd8\xff\xe0" + bytes(range(256))
PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(256))


def add(store, kept, data, name="disc.jpg"):
    return store.add_photo(kept.id, data, name, "hot spots", "ada", AT)


def test_bytes_name_caption_kind_and_digest_are_kept(store):
    kept = new(store)
    photo = add(store, kept, JPEG)
    assert store.photos(kept.id) == (photo,)
    assert store.photo(photo.id) == JPEG
    assert (photo.name, photo.caption, photo.kind) == ("disc.jpg", "hot spots", "jpeg")
    assert (photo.size, photo.sha256) == (len(JPEG), hashlib.sha256(JPEG).hexdigest())
    assert store.timeline(kept.id)[-1].what == (What("added", "photo", "disc.jpg"),)


def test_the_kind_is_judged_by_the_bytes_and_not_by_the_name(store):
    kept = new(store)
    assert add(store, kept, PNG, "disc.jpg").kind == "png"
    for data in (b"", b"GIF89a", b"%PDF-1.7", JPEG[1:], PNG[:7]):
        with pytest.raises(StoreError, match="neither a JPEG nor a PNG"):
            add(store, kept, data)
    assert len(store.photos(kept.id)) == 1


def test_a_photo_added_twice_is_there_once(store):
    kept = new(store)
    assert add(store, kept, JPEG) == add(store, kept, JPEG, "again.jpg")
    assert store.read(kept.id).number == 2


def test_two_cases_may_have_the_same_photo(store):
    first, second = new(store), new(store)
    assert store.photo(add(store, first, JPEG).id) == store.photo(add(store, second, JPEG).id)


def test_a_photo_taken_away_is_not_listed_and_may_come_again(store):
    kept = new(store)
    photo = add(store, kept, JPEG)
    store.remove_photo(photo.id, "ben", LATER)
    store.remove_photo(photo.id, "ben", LATER)
    assert store.photos(kept.id) == ()
    assert store.photo(photo.id) == JPEG
    assert [c.what[0].act for c in store.timeline(kept.id)[1:]] == ["added", "removed"]
    again = add(store, kept, JPEG)
    assert store.photos(kept.id) == (again,)
    assert again.id != photo.id


def test_what_a_photo_shows_can_be_told_later_and_the_photo_stays(store):
    kept = new(store)
    first, other = add(store, kept, JPEG), add(store, kept, PNG, "fork.png")
    store.caption_photo(first.id, "worn\0 pad", "ben", LATER)
    assert store.photos(kept.id) == (replace(first, caption="worn pad"), other)
    assert store.photo(first.id) == JPEG
    told = store.timeline(kept.id)[-1]
    assert (told.by, told.what) == ("ben", (What("changed", "photo", "disc.jpg"),))
    number = store.read(kept.id).number
    store.caption_photo(first.id, "worn pad", "ben", LATER)
    assert store.read(kept.id).number == number  # the same words are no change
    store.remove_photo(first.id, "ben", LATER)
    store.caption_photo(first.id, "gone", "ben", LATER)
    assert store.photos(kept.id) == (other,)
    with pytest.raises(StoreError, match="does not hold this"):
        store.caption_photo(99, "none", "ben", LATER)


def test_size_and_number_are_limited_with_a_sentence(store, monkeypatch):
    kept = new(store)
    with pytest.raises(StoreError, match="up to 10 MB"):
        add(store, kept, JPEG + bytes(photos.MAX_BYTES))
    monkeypatch.setattr(photos, "MAX_PHOTOS", 2)
    add(store, kept, JPEG)
    add(store, kept, PNG)
    with pytest.raises(StoreError, match="2 photos already"):
        add(store, kept, JPEG + b"more")
    assert len(store.photos(kept.id)) == 2


def test_an_answer_made_before_a_photo_came_is_no_conflict(store):
    kept = new(store)
    add(store, kept, JPEG)
    title = kept.case.model_copy(update={"title": "a"})
    saved = store.save(kept.id, title, kept.number, "ben", LATER, token())
    assert (saved.case, saved.conflicts, saved.number) == (title, (), 3)


def test_an_unknown_photo_is_refused(store):
    with pytest.raises(StoreError, match="does not hold this photo"):
        store.photo(99)
