"""Ponds and their revisions: nothing lost on the way in and out, nothing overwritten by another."""

from __future__ import annotations

import pytest

from plumeline.demo import demo_folder
from plumeline.errors import InputError, JobFolderError
from plumeline.files.job_folder import load_job
from plumeline.store import Folder, read_zip, write_zip
from plumeline.store.errors import ConflictError, DamagedError, NotThereError


def test_a_folder_comes_out_as_it_went_in(store, oak):
    """Every file to the byte, comments and units too, and what is no job file as well."""
    photo = bytes(range(256)) * 40
    folder = Folder(oak.name, {**oak.files, "photos/day one.jpg": photo, "notes.txt": b"gate code: ask\r\n"})
    kept = store.ponds.add(folder, author="office", reason="import")
    assert store.ponds.folder(kept.pond_id) == folder
    again = read_zip(write_zip(store.ponds.folder(kept.pond_id)))
    assert again == folder
    assert kept.job == load_job(demo_folder())
    assert (kept.number, kept.author, kept.reason) == (1, "office", "import")


def test_a_save_is_a_new_revision_and_the_old_one_stays(store, oak):
    """Both can be read, with who, when and why; the list shows the latest first."""
    first = store.ponds.add(oak, author="office", reason="import")
    job = first.job.model_copy(update={"name": "Hollow Oak, lower pond"})
    second = store.ponds.save_job(
        first.pond_id, job, expected_number=1, author="crew", reason="its right name"
    )
    assert second.number == 2
    assert second.job == job
    assert store.ponds.revision(first.pond_id, 1).job == first.job
    rows = store.ponds.revisions(first.pond_id)
    assert [(row.number, row.author, row.reason) for row in rows] == [
        (2, "crew", "its right name"),
        (1, "office", "import"),
    ]
    assert rows[0].saved_at > rows[1].saved_at
    assert store.ponds.folder(first.pond_id, 1) == oak
    assert [row.name for row in store.ponds.rows()] == ["Hollow Oak, lower pond"]


def test_the_second_of_two_savers_is_told_and_nothing_is_overwritten(store, oak):
    """A change made on revision 1 is refused once revision 2 stands, with who saved it."""
    pond_id = store.ponds.add(oak, author="office", reason="import").pond_id
    job = store.ponds.revision(pond_id).job
    mine, other = (job.model_copy(update={"name": name}) for name in ("mine", "other"))
    store.ponds.save_job(pond_id, other, expected_number=1, author="crew", reason="")
    with pytest.raises(ConflictError, match=r"revision 1, but crew saved revision 2") as caught:
        store.ponds.save_job(pond_id, mine, expected_number=1, author="office", reason="")
    assert (caught.value.expected_number, caught.value.latest_number, caught.value.author) == (1, 2, "crew")
    assert store.ponds.revision(pond_id).job.name == "other"
    assert len(store.ponds.revisions(pond_id)) == 2


def test_a_folder_with_faults_is_refused_whole(store, oak):
    """Every fault is told, and no pond is begun."""
    spoilt = {**oak.files, "job.toml": oak.files["job.toml"].replace(b"date = 2026", b"date = 2O26")}
    with pytest.raises(JobFolderError, match=r"job\.toml"):
        store.ponds.add(Folder("x", spoilt), author="", reason="")
    assert store.ponds.count() == 0


def test_two_ponds_of_one_name_are_two_ponds(store, oak):
    """The second gets an id of its own, and both stand in the list."""
    ids = [store.ponds.add(oak, author="", reason="").pond_id for _ in range(3)]
    assert len(set(ids)) == 3
    assert [row.id for row in store.ponds.rows()] == sorted(ids)


def test_a_pond_that_is_not_there_is_said_to_be_so(store, oak):
    """Neither pond nor revision is invented."""
    with pytest.raises(NotThereError, match="no pond 'nowhere'"):
        store.ponds.revision("nowhere")
    pond_id = store.ponds.add(oak, author="", reason="").pond_id
    with pytest.raises(NotThereError, match="no revision 7"):
        store.ponds.folder(pond_id, 7)


def test_a_job_that_no_folder_can_say_is_refused(store, oak):
    """A profile from the bottom up would come back turned round, so it is not taken."""
    first = store.ponds.add(oak, author="", reason="")
    profile = first.job.latest_profile
    turned = profile.model_copy(update={"points": profile.points[::-1]})
    others = tuple(item for item in first.job.observations if item.id != profile.id)
    job = first.job.model_copy(update={"observations": (*others, turned)})
    with pytest.raises(InputError, match=r"observations|top down|depth"):
        store.ponds.save_job(first.pond_id, job, expected_number=1, author="", reason="")
    assert len(store.ponds.revisions(first.pond_id)) == 1


def test_the_list_goes_on_where_it_ended(store, oak):
    """Pages of two hold every pond once, in order of their names."""
    first = store.ponds.add(oak, author="", reason="")
    for name in ("Alder", "Birch", "birch", "Cedar 100 %"):
        store.ponds.add_job(
            first.job.model_copy(update={"name": name, "id": name[:5].lower()}), author="", reason=""
        )
    seen, after = [], None
    while page := store.ponds.rows(after=after, most=2):
        seen += [row.name for row in page]
        after = (page[-1].name, page[-1].id)
    assert seen == sorted(["Alder", "Birch", "birch", "Cedar 100 %", first.job.name])
    assert [row.name for row in store.ponds.rows(search="100 %")] == ["Cedar 100 %"]
    assert store.ponds.rows(search="_") == ()


def test_the_names_of_ponds_are_the_first_by_name_and_those_that_are_wanted(store, oak):
    """A pond beyond the first ones is named where it is asked for; an unknown id and one in the bin are not."""
    job = store.ponds.add(oak, author="office", reason="import").job
    ids = {}
    for name in ("Elder", "Birch", "Alder", "Willow"):
        made = store.ponds.add_job(
            job.model_copy(update={"id": name.lower(), "name": name}), author="", reason=""
        )
        ids[name] = made.pond_id
    store.bin.put(ids["Birch"], by="office")
    names = store.ponds.names(2, besides=(ids["Willow"], ids["Birch"], "nowhere"))
    assert list(names.items()) == [(ids[name], name) for name in ("Alder", "Elder", "Willow")]


def test_of_the_ponds_that_were_not_looked_at_the_last_saved_comes_first(store, oak):
    """One at a time until none is left; another version of the program looks at all of them again."""
    first, last = (store.ponds.add(oak, author="", reason="").pond_id for _ in range(2))
    for wanted in (last, first):
        assert store.ponds.not_looked_at("1") == wanted
        store.ponds.stands(wanted, 1, (), "1")
    assert store.ponds.not_looked_at("1") is None
    assert store.ponds.not_looked_at("2") == last
    store.bin.put(last, "office")
    assert store.ponds.not_looked_at("2") == first


def test_a_job_or_a_file_that_is_not_what_was_saved_is_not_shown(store, oak):
    """A letter of the job, a byte of a file: which of them it is, and nothing of it."""
    made = store.ponds.add(oak, author="", reason="")
    with store.database.transaction() as link:
        link.exec_driver_sql("UPDATE revision SET job = replace(job, 'oak', 'oal')")
    with pytest.raises(DamagedError, match=f"revision 1 of {made.pond_id} is not what was saved"):
        store.ponds.revision(made.pond_id)
    with store.database.transaction() as link:
        link.exec_driver_sql("UPDATE blob SET content = zeroblob(length(content))")
    with pytest.raises(DamagedError, match=r"the file .* is not what was saved"):
        store.ponds.folder(made.pond_id)
