"""What came from the field goes into the job by the same save as every change, and never over another's value."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime

import pytest
from sqlalchemy import update
from tests.capture_items import OTHER, item, jpeg, named, sha, text

from plumeline.errors import InputError
from plumeline.store import Folder, open_store
from plumeline.store.capture_tables import item as captured
from plumeline.store.captures import State
from plumeline.store.correcting import corrected
from plumeline.store.errors import ConflictError, NotThereError, StoreError
from plumeline.store.taking import Asked


@pytest.fixture
def pond(store, oak):
    files = {name: data for name, data in oak.files.items() if name != "weather.csv"}
    return store.ponds.add(Folder("oak", files), author="office", reason="").pond_id


def hand(store, made):
    """Hand over an item and return its number."""
    return store.captures.receive(text(made)).sequence_number


def take(store, pond, *numbers, **more):
    asked = Asked(pond, store.ponds.revision(pond).number, "office", **more)
    return store.taking.take(numbers, asked)


def file(store, pond, name):
    return store.ponds.folder(pond).files[name].decode()


def test_a_profile_becomes_rows_of_the_visits_readings(store, pond):
    """Two depths in feet and °F, one as 12 ft 6 in; the job has the profile at the time of the phone."""
    done = take(store, pond, hand(store, item("profile", pond_id=pond)))
    assert done.left == ()
    assert done.saved.number == 2
    assert done.saved.author == "office"
    assert done.saved.reason == "from the field: 1 profile by crew"
    profile = next(one for one in done.saved.job.profiles if one.id.startswith("field-"))
    assert profile.time == datetime(2026, 8, 11, 11, 30, tzinfo=UTC)
    assert profile.time.utcoffset().total_seconds() == -4 * 3600
    assert [(p.depth_m, p.temperature_degc, p.do_mg_l) for p in profile.points] == [
        (0.3048, pytest.approx(27.7777777778, abs=1e-9), 8.2), (3.81, pytest.approx(16.1111111111, abs=1e-9), 0.1)
    ]  # fmt: skip
    row = store.taking.list.one(1)
    assert (row.state, row.taken_number, row.taken_path) == (State.TAKEN, 2, "readings.csv")
    assert (row.decided_by, row.decided_at is not None) == ("office", True)


def test_a_gauge_and_a_sounding_go_into_their_files_in_the_files_own_units(store, pond):
    """gauges.csv is made; soundings.csv keeps comment and feet, gets one row, and columns for muck, staff and day."""
    before = file(store, pond, "soundings.csv")
    done = take(store, pond, *(hand(store, item(kind, pond_id=pond)) for kind in ("gauge", "sounding")))
    assert (done.left, done.saved.number) == ((), 2)
    after = file(store, pond, "soundings.csv")
    heads = before.replace("lon,lat,depth_ft\n", "lon,lat,depth_ft,muck_m,level_m,time\n", 1)
    assert after == heads + "-79.56305,35.86525,11.25,0.2032,0.73152,2026-08-11T07:30:00-04:00\n"
    assert len(done.saved.job.pond.soundings) == before.count("\n-79") + 1
    gauge = next(one for one in done.saved.job.observations if one.kind == "gauge")
    assert gauge.place == "at the compressor"
    assert gauge.pressure_pa == pytest.approx(5.8 * 6894.757, rel=1e-6)


def test_a_file_with_other_columns_marks_and_line_ends_stays_as_it_was(store, pond):
    """Semicolons, metres, °C, CRLF, a comment at the end and a column of nobody: the row fits in."""
    own = "\ufeff# ours\r\ntime;do_mg_l;depth_m;remark;temperature_degc\r\n2026-08-12T07:00;0,4;3,0;x;17,5\r\n# end\r\n"
    files = {**store.ponds.folder(pond).files, "readings.csv": own.encode()}
    store.ponds.save_files(pond, files, expected_number=1, author="", reason="")
    done = take(store, pond, hand(store, item("profile", pond_id=pond)))
    assert done.left == ()
    found = store.ponds.folder(pond).files["readings.csv"].decode()
    lines = own.replace("temperature_degc", "temperature_degc;id")
    assert found.startswith(lines)
    assert (
        found[len(lines) :]
        .split("\r\n")[0]
        .startswith("2026-08-11T07:30:00-04:00;8.2;0.3048;;27.7777777778;field-")
    )


def test_a_note_and_a_photo_are_kept_with_the_pond_without_a_new_revision(store, pond):
    """Taken, listed, and nothing of the job changes."""
    data = jpeg(1)
    store.photos.put_whole(sha(data), data)
    numbers = [
        hand(store, item("note", pond_id=pond)),
        hand(store, item("photo", pond_id=pond, photos=[named(data)])),
    ]
    done = take(store, pond, *numbers)
    assert (done.saved, done.taken_rows) == (None, tuple(numbers))
    assert store.ponds.revision(pond).number == 1
    rows = store.taking.list.items(pond_id=pond, states=[State.TAKEN])
    assert [len(row.photos) for row in rows] == [0, 1]


UNREAD = {
    "a unit of another kind": (
        {"rows": [{"depth": "3 psi", "temperature": "70", "oxygen": "5"}]},
        "a length is wanted",
    ),
    "words": (
        {"rows": [{"depth": "deep", "temperature": "70", "oxygen": "5"}]},
        "does not start with a number",
    ),
    "two readings of a comma": ({"rows": [{"depth": "1,200", "temperature": "70", "oxygen": "5"}]}, "1,200"),
    "no oxygen": ({"rows": [{"depth": "3", "temperature": "70", "oxygen": ""}]}, "no oxygen"),
    "no depth": ({"rows": [{"depth": "", "temperature": "70", "oxygen": "5"}]}, "no depth"),
    "nothing": ({"rows": []}, "no reading"),
    "below the bottom": (
        {"rows": [{"depth": "60", "temperature": "70", "oxygen": "5"}]},
        "deeper than the pond",
    ),
    "beyond any bloom": ({"rows": [{"depth": "3", "temperature": "70", "oxygen": "82"}]}, "40"),
}


@pytest.mark.parametrize(("body", "words"), UNREAD.values(), ids=UNREAD)
def test_what_cant_be_read_stays_with_its_reason_and_stops_none_of_the_others(store, pond, body, words):
    """The others of the same hand-over are in the job; this one is kept to the byte, as a conflict with words."""
    bad = item("profile", 1, pond_id=pond, body=body)
    numbers = [
        hand(store, item("profile", 0, pond_id=pond)),
        hand(store, bad),
        hand(store, item("sounding", pond_id=pond)),
    ]
    done = take(store, pond, *numbers)
    assert set(done.taken_rows) == {numbers[0], numbers[2]}
    assert [one.sequence_number for one in done.left] == [numbers[1]]
    assert words in done.left[0].words
    row = store.taking.list.one(numbers[1])
    assert (row.state, row.words) == (State.CONFLICT, done.left[0].words)
    assert store.taking.list.content(numbers[1]) == text(bad)


def test_two_phones_with_the_same_meaning_are_both_kept(store, pond):
    """Same pond, place, minute and depths: two profiles in the job."""
    numbers = [
        hand(store, item("profile", pond_id=pond, device=device)) for device in (item()["device_id"], OTHER)
    ]
    done = take(store, pond, *numbers)
    assert done.left == ()
    assert len([one for one in done.saved.job.profiles if one.id.startswith("field-")]) == 2


def test_two_phones_and_the_office_change_one_field_and_all_values_are_kept(store, pond):
    """The Secchi depth: 5 ft in the office, 3 ft and 4 ft in the field; a person picks, the others can come back."""
    toml = file(store, pond, "job.toml")
    first = hand(store, item("profile", 1, pond_id=pond, base_number=1, body={"secchi": "3"}))
    second = hand(
        store, item("profile", 2, pond_id=pond, base_number=1, body={"secchi": "4 ft"}, device=OTHER)
    )
    changed = {**store.ponds.folder(pond).files, "job.toml": toml.replace('"2 ft"', '"5 ft"').encode()}
    store.ponds.save_files(pond, changed, expected_number=1, author="office", reason="")
    done = take(store, pond, first, second)
    assert (done.saved, len(done.left)) == (None, 2)
    assert "5 ft" in done.left[0].words
    assert "2 ft" in done.left[0].words
    assert "3 ft" in done.left[0].words
    done = take(store, pond, second, picked=True)
    assert done.saved.job.pond.secchi_depth_m == pytest.approx(4 * 0.3048)
    again = take(store, pond, first)
    assert "4 ft" in again.left[0].words
    store.taking.set_aside(first, "office")
    assert store.taking.undo(first).state is State.NEW
    assert store.taking.list.content(first)
    said = [store.ponds.revision(pond, number).job.pond.secchi_depth_m / 0.3048 for number in (1, 2, 3)]
    assert said == pytest.approx([2, 5, 4])
    # only the one line of the file was changed, and its comment stays
    assert file(store, pond, "job.toml") == toml.replace('"2 ft"', '"4 ft"')
    # the readings of the first one without its Secchi depth
    done = take(store, pond, first, leave_secchi=True, picked=True)
    assert done.saved.job.pond.secchi_depth_m == pytest.approx(4 * 0.3048)
    assert len([one for one in done.saved.job.profiles if one.id.startswith("field-")]) == 2


def test_two_that_say_a_secchi_depth_at_once_do_not_overwrite_each_other(store, pond):
    """Taken in one go, both of the present revision: the first stands, the second is asked for."""
    numbers = [
        hand(store, item("profile", count, pond_id=pond, base_number=1, body={"secchi": f"{count} ft"}))
        for count in (3, 4)
    ]
    done = take(store, pond, *numbers)
    assert done.taken_rows == (numbers[0],)
    assert [one.sequence_number for one in done.left] == [numbers[1]]
    assert done.saved.job.pond.secchi_depth_m == pytest.approx(3 * 0.3048)


def test_an_edit_of_a_secchi_depth_that_was_taken_is_no_conflict_with_itself(store, pond):
    """The job's value is the item's own former one; after a change in the office it is a conflict again."""
    first = item("profile", 1, pond_id=pond, base_number=1, body={"secchi": "3 ft", "rows": []})
    take(store, pond, hand(store, first))
    edit = item(
        "profile",
        2,
        pond_id=pond,
        base_number=1,
        supersedes=first["id"],
        body={"secchi": "42 in", "rows": []},
    )
    done = take(store, pond, hand(store, edit))
    assert done.left == ()
    assert done.saved.job.pond.secchi_depth_m == pytest.approx(42 * 0.0254)
    toml = file(store, pond, "job.toml")
    changed = {**store.ponds.folder(pond).files, "job.toml": toml.replace('"42 in"', '"7 ft"').encode()}
    store.ponds.save_files(pond, changed, expected_number=3, author="office", reason="")
    last = item(
        "profile", 3, pond_id=pond, base_number=3, supersedes=edit["id"], body={"secchi": "4 ft", "rows": []}
    )
    assert "7 ft" in take(store, pond, hand(store, last)).left[0].words


def test_between_two_contents_of_one_id_a_person_picks(store, pond):
    """Neither is taken by itself; the one picked is, the other is set aside and can be brought back."""
    made = item("profile", pond_id=pond)
    other = {**made, "body": {**made["body"], "rows": made["body"]["rows"][:1]}}
    numbers = [hand(store, made), hand(store, other)]
    done = take(store, pond, *numbers)
    assert (done.saved, len(done.left)) == (None, 2)
    done = take(store, pond, numbers[1], picked=True)
    assert done.taken_rows == (numbers[1],)
    assert [store.taking.list.one(number).state for number in numbers] == [State.ASIDE, State.TAKEN]
    assert store.taking.undo(numbers[0]).state is State.CONFLICT
    # picked after all: it stands in place of the other's rows
    done = take(store, pond, numbers[0], picked=True)
    assert [len(one.points) for one in done.saved.job.profiles if one.id.startswith("field-")] == [2]
    last = store.taking.list.one(numbers[1])
    assert (last.state, last.taken_path, last.words) == (State.TAKEN, "", "no. 1 stands in its place now")


def test_setting_one_of_two_contents_aside_leaves_no_choice(store, pond):
    """The other is new again and may be taken."""
    made = item("note", pond_id=pond)
    numbers = [hand(store, made), hand(store, {**made, "body": {"text": "other"}})]
    store.taking.set_aside(numbers[0], "office")
    assert store.taking.list.one(numbers[1]).state is State.NEW
    assert take(store, pond, numbers[1]).left == ()


def test_an_edit_takes_the_place_of_what_it_edits(store, pond):
    """Before and after that was taken: one reading in the job, at the time of the first, with the last values."""
    first = item("profile", 0, pond_id=pond)
    edit = item(
        "profile", 1, pond_id=pond, supersedes=first["id"], made_at="2026-08-12T09:00:00.000-04:00",
        body={"rows": [{"depth": "2", "temperature": "80", "oxygen": "7.7"}]},
    )  # fmt: skip
    numbers = [hand(store, first), hand(store, edit)]
    assert "later edit" in take(store, pond, numbers[0]).left[0].words
    done = take(store, pond, numbers[1])
    profile = [one for one in done.saved.job.profiles if one.id.startswith("field-")]
    assert [(one.time.isoformat(), len(one.points)) for one in profile] == [("2026-08-11T07:30:00-04:00", 1)]
    assert store.taking.list.one(numbers[0]).state is State.ASIDE
    last = item(
        "profile",
        2,
        pond_id=pond,
        supersedes=edit["id"],
        body={"rows": [{"depth": "5", "temperature": "79", "oxygen": "6"}]},
    )
    done = take(store, pond, hand(store, last))
    profile = [one for one in done.saved.job.profiles if one.id.startswith("field-")]
    assert [[p.do_mg_l for p in one.points] for one in profile] == [[6.0]]
    assert file(store, pond, "readings.csv").count("field-") == 1


@pytest.mark.parametrize("kind", ["profile", "sounding"])
def test_an_edit_of_rows_that_the_office_changed_is_a_conflict_with_all_values(store, pond, kind):
    """What was taken, what the office made of it and what the edit says are all shown; a person picks."""
    first = item(kind, 0, pond_id=pond)
    take(store, pond, hand(store, first))
    name, old, new = (
        ("readings.csv", "8.2", "9.9") if kind == "profile" else ("soundings.csv", "11.25", "12.75")
    )
    body = (
        {"depth": "10"}
        if kind == "sounding"
        else {"rows": [{"depth": "2", "temperature": "80", "oxygen": "7.7"}]}
    )
    changed = {**store.ponds.folder(pond).files, name: file(store, pond, name).replace(old, new).encode()}
    store.ponds.save_files(pond, changed, expected_number=2, author="office", reason="")
    edit = hand(store, item(kind, 1, pond_id=pond, supersedes=first["id"], base_number=2, body=body))
    done = take(store, pond, edit)
    assert done.saved is None
    assert old in done.left[0].words
    assert kind == "sounding" or new in done.left[0].words
    done = take(store, pond, edit, picked=True)
    assert done.left == ()
    if kind == "profile":
        assert file(store, pond, name).count("field-") == 1


def test_two_edits_of_one_reading_are_a_choice(store, pond):
    """Two phones edit the same item: neither is taken by itself."""
    first = item("note", 0, pond_id=pond)
    hand(store, first)
    numbers = [
        hand(store, item("note", count, pond_id=pond, supersedes=first["id"], body={"text": f"edit {count}"}))
        for count in (1, 2)
    ]
    done = take(store, pond, *numbers)
    assert len(done.left) == 2
    assert take(store, pond, numbers[0], picked=True).taken_rows == (numbers[0],)
    assert store.taking.list.one(numbers[1]).state is State.ASIDE


def test_edits_that_go_in_a_ring_end(store, pond):
    """Each says that it edits the other: both are held and shown, and nothing hangs."""
    one, two = item("note", 1, pond_id=pond), item("note", 2, pond_id=pond)
    one["supersedes"], two["supersedes"] = two["id"], one["id"]
    numbers = [hand(store, one), hand(store, two)]
    done = take(store, pond, *numbers)
    assert len(done.left) + len(done.taken_rows) == 2
    assert take(store, pond, numbers[0], picked=True).left == ()


def test_a_pond_saved_in_between_takes_nothing(store, pond):
    """The version check of every save: ConflictError, and the item is new as before."""
    number = hand(store, item("profile", pond_id=pond))
    asked = Asked(pond, 1, "office")
    store.ponds.save_files(pond, store.ponds.folder(pond).files, expected_number=1, author="", reason="")
    with pytest.raises(ConflictError):
        store.taking.take([number], asked)
    assert store.taking.list.one(number).state is State.NEW
    assert store.ponds.revision(pond).number == 2


def test_an_item_is_taken_once(store, pond):
    """A second click takes nothing twice, nor does a set-aside one go in by itself."""
    number = hand(store, item("profile", pond_id=pond))
    take(store, pond, number)
    assert "already" in take(store, pond, number).left[0].words
    assert store.ponds.revision(pond).number == 2
    with pytest.raises(InputError, match="taken already"):
        store.taking.set_aside(number, "office")
    with pytest.raises(InputError, match="not set aside"):
        store.taking.undo(number)
    other = hand(store, item("note", pond_id=pond))
    store.taking.set_aside(other, "office")
    assert "set aside" in take(store, pond, other).left[0].words


def test_an_item_without_a_pond_is_assigned_in_the_office(store, pond):
    """Its bytes stay as they are; an unknown pond is refused."""
    made = item("note")
    number = hand(store, made)
    with pytest.raises(NotThereError):
        store.taking.assign(number, "nowhere")
    store.taking.assign(number, pond)
    row = store.taking.list.one(number)
    assert (row.pond_id, row.item.pond_id) == (pond, None)
    assert store.taking.list.content(number) == text(made)


def test_words_of_a_phone_stay_in_their_cell(store, pond):
    """A gauge named with marks of CSV, a comment's mark and line ends is one cell of one row."""
    for count, name in enumerate(('#1, "old"', "a\nb,c", "'=1+1", "x;y\t")):
        number = hand(
            store,
            item(
                "gauge",
                count,
                pond_id=pond,
                body={"what": name},
                made_at=f"2026-08-11T10:{count:02}:00Z",
            ),
        )
        done = take(store, pond, number)
        assert done.left == ()
        gauges = [one.place for one in done.saved.job.observations if one.kind == "gauge"]
        assert " ".join(name.split()) in gauges


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("[pond]\narea = '1 acre'\n", "[pond]\nsecchi_depth = \"3 ft\"\narea = '1 acre'\n"),
        ("[pond] # p\nsecchi_depth_m = 0.6 # when?\n[air]\n", "[pond] # p\nsecchi_depth = \"3 ft\" # when?\n[air]\n"),
        ("[pond]\r\n  secchi_depth = ''\r\n", "[pond]\r\n  secchi_depth = \"3 ft\"\r\n"),
        ("[air]\nsecchi_depth = 1\n[pond]\n", "[air]\nsecchi_depth = 1\n[pond]\nsecchi_depth = \"3 ft\"\n"),
    ],
)  # fmt: skip
def test_the_secchi_depth_is_changed_in_its_one_line(before, after):
    """Comments, line ends and other tables stay."""
    from plumeline.files.secchi_line import with_secchi

    assert with_secchi(before.encode(), "3 ft").decode() == after


@pytest.mark.parametrize("data", ["pond.area = '1 acre'\n", "[site]\n", "pond = { secchi_depth = '2 ft' }\n"])
def test_a_secchi_depth_that_has_no_line_is_left_to_a_person(data):
    """Nothing is guessed: the words say what to write where."""
    from plumeline.files.secchi_line import with_secchi

    with pytest.raises(InputError, match="by hand"):
        with_secchi(data.encode(), "3 ft")


def test_rows_are_dataclasses_that_cant_be_changed(store, pond):
    """What a page holds is not the store's."""
    row = store.taking.list.one(hand(store, item("note", pond_id=pond)))
    with pytest.raises(dataclasses.FrozenInstanceError):
        row.state = State.TAKEN


def test_a_disk_that_does_not_read_is_no_fault_of_the_item(store, pond, monkeypatch):
    """Taking is refused as a whole; the item stays new, without words about the disk."""
    number = hand(store, item("gauge", pond_id=pond))

    def fail(_row):
        raise StoreError("the disk does not read or write the database; nothing was saved.")

    with monkeypatch.context() as patch:
        patch.setattr(store.taking.list, "root_of", fail)
        with pytest.raises(StoreError, match="disk"):
            take(store, pond, number)
    row = store.taking.list.one(number)
    assert (row.state, row.words) == (State.NEW, "")


def test_an_item_that_is_not_there_is_said_not_to_be(store):
    """By its number, as a row and as what the phone sent."""
    for ask in (store.taking.list.one, store.taking.list.content):
        with pytest.raises(NotThereError, match=r"no field item no\. 7"):
            ask(7)


def test_an_edit_of_what_this_database_never_had_begins_with_itself(store, pond):
    """The first one stayed on a lost phone: the edit is taken as it is, under the first one's id."""
    lost = item("profile", 9, pond_id=pond)["id"]
    number = hand(store, item("profile", 0, pond_id=pond, supersedes=lost))
    row = store.taking.list.one(number)
    assert store.taking.list.root_of(row) == (lost, row)
    assert take(store, pond, number).left == ()
    assert f"field-{lost}" in file(store, pond, "readings.csv")


def test_what_was_set_aside_is_not_corrected(store, pond):
    """It is brought back first: a correction would bring it back without a word."""
    number = hand(store, item("gauge", pond_id=pond))
    row = store.taking.set_aside(number, "Ada")
    when = datetime(2026, 8, 11, 11, 30, tzinfo=UTC)
    with pytest.raises(InputError, match="it was set aside") as caught:
        corrected(row, when, {"pressure": "6"}, "Ada")
    assert caught.value.remedy == "Bring it back first."


def test_a_secchi_depth_against_a_revision_that_is_not_here_is_a_conflict(store, pond):
    """The phone last saw revision 99, of a database that was lost: what it knew is not known, a person picks."""
    number = hand(store, item("profile", pond_id=pond, base_number=99, body={"secchi": "4 ft", "rows": []}))
    done = take(store, pond, number)
    assert done.saved is None
    assert "was not known to the phone" in done.left[0].words


def test_a_secchi_depth_that_nobody_changed_since_is_taken(store, pond):
    """The phone saw the depth that the job still has."""
    number = hand(store, item("profile", pond_id=pond, base_number=1, body={"secchi": "4 ft", "rows": []}))
    assert take(store, pond, number).left == ()
    assert store.ponds.revision(pond).job.pond.secchi_depth_m == pytest.approx(4 * 0.3048)


def test_an_item_on_which_somebody_decided_in_between_is_not_taken_twice(store, pond, monkeypatch):
    """Set aside between the look and the write: nothing is saved, neither the rows nor another revision."""
    number, mark = hand(store, item("gauge", pond_id=pond)), store.taking._mark

    def late(link, batch, revision_number):
        link.execute(update(captured).where(captured.c.sequence == number).values(state=State.ASIDE))
        mark(link, batch, revision_number)

    monkeypatch.setattr(store.taking, "_mark", late)
    with pytest.raises(StoreError, match="somebody decided on this item in between"):
        take(store, pond, number)
    assert store.ponds.revision(pond).number == 1
    assert "gauges.csv" not in store.ponds.folder(pond).files


def test_what_was_taken_is_not_given_to_another_pond(store, pond, oak):
    """Its rows stand in the first one."""
    number = hand(store, item("gauge", pond_id=pond))
    take(store, pond, number)
    other = store.ponds.add(oak, author="", reason="").pond_id
    with pytest.raises(InputError, match="it is taken already"):
        store.taking.assign(number, other)
    assert store.taking.list.one(number).pond_id == pond


@pytest.mark.parametrize(
    ("kind", "elsewhere", "words"),
    [("profile", True, "another pond"), ("gauge", False, "readings.csv")],
    ids=["another pond", "another file"],
)
def test_an_edit_does_not_go_where_its_first_version_is_not(kind, elsewhere, words, store, pond, oak):
    """The first went into one file of one pond: anywhere else the edit would stand beside it."""
    first = item("profile", 0, pond_id=pond)
    number = hand(store, first)
    take(store, pond, number)
    other = store.ponds.add(oak, author="", reason="").pond_id if elsewhere else pond
    edit = hand(store, item(kind, 1, pond_id=other, supersedes=first["id"]))
    assert f"(no. {number}) was taken into {words}" in take(store, other, edit).left[0].words


def test_rows_that_the_folder_holds_already_are_not_put_there_twice(store, pond, tmp_path):
    """A folder was brought in that has them, into a database that knows nothing of it: the item is set aside."""
    made = item("profile", pond_id=pond)
    take(store, pond, hand(store, made))
    again = open_store(tmp_path / "again.sqlite3")
    brought = again.ponds.add(store.ponds.folder(pond), author="", reason="").pond_id
    number = hand(again, made | {"pond_id": brought})
    assert "holds this reading already" in take(again, brought, number).left[0].words
    again.close()
