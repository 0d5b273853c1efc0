"""Every way in which the store is written to, each once: `WRITES` in an order in which they can be done.

tests/store/test_write_paths.py finds the functions that open a transaction and wants each of them here.
"""

from __future__ import annotations

import dataclasses
import sys
import threading
from contextlib import contextmanager, suppress
from datetime import UTC, datetime, timedelta

from sqlalchemy import delete
from tests.capture_items import PART, item, jpeg, named, parts, sha, text

from plumeline.demo import demo_folder
from plumeline.errors import PlumelineError
from plumeline.store import Folder, read_folder
from plumeline.store.captures import Told
from plumeline.store.engine import Database
from plumeline.store.people import Role
from plumeline.store.photos import SpoiltPhotoError
from plumeline.store.pond_places import PondPlaces
from plumeline.store.schema import pond_place
from plumeline.store.taking import Asked

PASSWORD = "a long and quiet pond"


class Clock:
    """Goes on by a second each time it is looked at."""

    def __init__(self):
        self.time = datetime(2026, 8, 11, 12, tzinfo=UTC)

    def __call__(self):
        self.time += timedelta(seconds=1)
        return self.time


def small_oak():
    """The demo folder without its weather, which is nearly all of it."""
    whole = read_folder(demo_folder())
    return Folder("oak", {name: data for name, data in whole.files.items() if name != "weather.csv"})


def _add_pond(store, kept):
    kept["pond"] = store.ponds.add(small_oak(), author="office", reason="import").pond_id


def _save_files(store, kept):
    number = store.ponds.revision(kept["pond"]).number
    files = {**store.ponds.folder(kept["pond"]).files, "note.txt": f"note {number}".encode() * 3000}
    store.ponds.save_files(kept["pond"], files, expected_number=number, author="crew", reason="a note")


def _save_job(store, kept):
    now = store.ponds.revision(kept["pond"])
    job = now.job.model_copy(update={"name": f"oak {now.number}"})
    store.ponds.save_job(kept["pond"], job, expected_number=now.number, author="office", reason="named")


def _keep_places(store, kept):
    """Of a pond saved by a program that kept none."""
    with store.database.transaction() as link:
        link.execute(delete(pond_place))
    PondPlaces(store.database).keep_missing(threading.Event())


def _stands(store, kept):
    now = store.ponds.revision(kept["pond"])
    store.ponds.stands(kept["pond"], now.number, now.notices, "0")


def _ask(store, kept):
    kept["run"] = store.runs.ask(kept["pond"], store.ponds.revision(kept["pond"]).number, "0").id


def _claim(store, kept):
    kept["run"] = store.runs.claim().id


def _receive(*made):
    def write(store, kept):
        kept["items"] = [
            store.captures.receive(text({**one, "pond_id": kept["pond"]})).sequence_number for one in made
        ]

    return write


def _take(store, kept):
    number = store.ponds.revision(kept["pond"]).number
    done = store.taking.take(kept["items"], Asked(kept["pond"], number, "office"))
    assert done.saved or done.left


def _take_note(store, kept):
    number = store.ponds.revision(kept["pond"]).number
    done = store.taking.take(kept["items"], Asked(kept["pond"], number, "office"))
    assert done.taken_rows == tuple(kept["items"])
    assert done.saved is None


def _photo_parts(store, kept):
    data = _large()
    for number, piece in parts(data):
        store.photos.put_part(sha(data), number, len(data), piece)


def _large():
    data = jpeg(7, (900, 650), noise=True)
    assert PART < len(data) < 2 * PART
    return data


def _spoilt(store, kept):
    with suppress(SpoiltPhotoError):
        store.photos.put_part("0" * 64, 0, 1000, b"x" * 1000)


def _heard(store, kept):
    store.captures.heard(
        Told("01920000-0000-7000-8000-00000000d001", "phone one", 3, datetime(2026, 8, 11, tzinfo=UTC))
    )


def _person(store, kept):
    kept["name"] = f"Crew {len(store.people.all()) + 1}"
    kept["code"] = store.people.add(kept["name"], Role.CREW)


def _use_code(store, kept):
    kept["person"] = store.people.use_code(kept["code"], PASSWORD).id


def _new_code(store, kept):
    kept["code"] = store.people.new_code(kept["person"])


def _sign_in(store, kept):
    kept["session"] = store.people.sign_in(kept["name"], PASSWORD)


def _change(store, kept):
    kept["session"] = store.people.change_password(kept["person"], PASSWORD, PASSWORD + " again")


def _link(store, kept):
    kept["link"], kept["token"] = store.links.make(kept["pond"], "office")


def _accept(store, kept):
    from plumeline.store.links import Papers

    number = store.ponds.revision(kept["pond"]).number
    store.links.accept(kept["link"].id, number, "A Customer", Papers(kept["quote"]))


def _quote(store, kept):
    number, kept["quote"] = store.ponds.revision(kept["pond"]).number, store.quotes.next_number(kept["pond"])
    files = {units: b"%PDF " + units.encode() * 2000 for units in ("us", "si")}
    store.quotes.keep(kept["pond"], kept["quote"], number, None, "office", files)


def _pair(store, kept):
    from plumeline.store.pairings import Pairing

    given = {"scheme": "https", "host_name": "ponds.test", "port_number": 8621, "authority_print": "ab",
             "machine_name": "office", "addresses": ("10.0.0.2",), "made_at": None}  # fmt: skip
    store.pairings.keep(Pairing(**{one.name: given[one.name] for one in dataclasses.fields(Pairing)}))


def _add_other(store, kept):
    kept["other"] = store.ponds.add(small_oak(), author="", reason="", form_key=f"form {len(kept)}").pond_id


def _put_away(store, kept):
    store.bin.put(kept["other"], "office")


def _erase(store, kept):
    store.bin.erase(kept["other"], store.bin.all()[0].name)


def _erase_old(store, kept):
    store.clock.time += timedelta(days=31)
    store.bin.erase_old()


PHOTO = jpeg(1)
WRITES = (
    ("add a pond", _add_pond),
    ("save files", _save_files),
    ("save files again", _save_files),
    ("save a job", _save_job),
    ("keep where they lie", _keep_places),
    ("keep what stands against it", _stands),
    ("keep it again", _stands),
    ("ask for a run", _ask),
    ("claim it", _claim),
    ("tell of it", lambda store, kept: store.runs.tell(kept["run"], "half", 0.5)),
    ("finish it", lambda store, kept: store.runs.finish(kept["run"], {"plan.pdf": b"%PDF" * 2000})),
    ("ask for another", _ask),
    ("claim the other", _claim),
    ("take it over", lambda store, kept: store.runs.take_over()),
    ("claim it after that", _claim),
    ("let it fail", lambda store, kept: store.runs.fail(kept["run"], "no")),
    ("ask for a third", _ask),
    ("stop it", lambda store, kept: store.runs.stop(kept["run"])),
    ("ask for a fourth", _ask),
    ("claim the fourth", _claim),
    ("leave it off", lambda store, kept: store.runs.stopped(kept["run"])),
    ("receive items", _receive(item("profile"), item("gauge"), item("photo", photos=[named(PHOTO), named(_large())]))),
    ("hear of a phone", _heard),
    ("a photo whole", lambda store, kept: store.photos.put_whole(sha(PHOTO), PHOTO)),
    ("a photo in parts", _photo_parts),
    ("a photo that is none", _spoilt),
    ("parts left behind", lambda store, kept: store.photos.put_part("1" * 64, 0, PART + 5, b"y" * PART)),
    ("tidy photos", lambda store, kept: store.photos.tidy()),
    ("take items", _take),
    ("receive a note", _receive(item("note", 1))),
    ("set it aside", lambda store, kept: store.taking.set_aside(kept["items"][0], "office")),
    ("bring it back", lambda store, kept: store.taking.undo(kept["items"][0])),
    ("say whose it is", lambda store, kept: store.taking.assign(kept["items"][0], kept["pond"])),
    ("take the note, which is in no file of the job", _take_note),
    ("a person", _person),
    ("their password", _use_code),
    ("the first code", lambda store, kept: store.people.first_code()),
    ("a new code", _new_code),
    ("sign in", _sign_in),
    ("sign out", lambda store, kept: store.people.end_session(kept["session"])),
    ("another password", _change),
    ("a link", _link),
    ("come in by it", lambda store, kept: store.links.enter(kept["token"])),
    ("keep a quote", _quote),
    ("accept", _accept),
    ("revoke it", lambda store, kept: store.links.revoke(kept["pond"], kept["link"].id)),
    ("keep a person out", lambda store, kept: store.people.disable(kept["person"])),
    ("pair phones", _pair),
    ("pair them again", _pair),
    ("add another pond", _add_other),
    ("put it away", _put_away),
    ("take it back", lambda store, kept: store.bin.take_back(kept["other"])),
    ("put it away again", _put_away),
    ("erase it", _erase),
    ("add a third pond", _add_other),
    ("put the third away", _put_away),
    ("erase it after a month", _erase_old),
    ("add a fourth pond", _add_other),
    ("put the fourth away", _put_away),
    ("another person", _person),
    ("the other's password", _use_code),
    ("the other signs in", _sign_in),
    ("a code that waits", _new_code),
    ("save files at the end", _save_files),
)  # fmt: skip


class Watch:
    """What every transaction of every database does while it is watched.

    Attributes:
        writers: functions that opened one.
        about_to: called with the connection before a transaction is kept.
        done: called once it is kept.
    """

    def __init__(self, about_to=None, done=None):
        self.writers = set()
        self.about_to = about_to or (lambda link: None)
        self.done = done or (lambda: None)


@contextmanager
def watched(watch):
    """Watch all transactions while the block runs."""
    real = Database.transaction

    @contextmanager
    def transaction(self):
        code = sys._getframe(2).f_code
        watch.writers.add(f"{code.co_filename.rpartition('/plumeline/')[2]}:{code.co_qualname}")
        with real(self) as link:
            yield link
            watch.about_to(link)
        watch.done()

    Database.transaction = transaction
    try:
        yield watch
    finally:
        Database.transaction = real


def do(store, kept, name, write):
    """Do one write, with the words of what failed."""
    try:
        write(store, kept)
    except PlumelineError as error:
        raise AssertionError(f"{name}: {error}") from error
