"""Many clients at once before one real server: writers that save and hand over, readers that look."""

from __future__ import annotations

import http.client
import json
import threading
import time
import uuid
from dataclasses import dataclass, field

from tests.capture_items import item, text
from tests.every_write import small_oak
from tests.killed_saving import HEADERS

from plumeline.store import open_store

SAVE_EVERY = 10
"""One of so many writes saves a whole job; the others hand over an item from the field, as phones do."""
READS = ("/", "/ponds/{pond}/history", "/api/v1/ponds", "/api/v1/ponds/{pond}")


@dataclass
class Times:
    """How long answers took, and what went wrong.

    Attributes:
        saves_s: of jobs.
        items_s: of items.
        reads_s: of pages.
        refused: answers that were not what was wanted.
    """

    saves_s: list = field(default_factory=list)
    items_s: list = field(default_factory=list)
    reads_s: list = field(default_factory=list)
    refused: list = field(default_factory=list)


def prepared(database, count):
    """Make a database with so many ponds; return their ids and the job of each."""
    store = open_store(database)
    found = []
    for _ in range(count):
        made = store.ponds.add(small_oak(), author="office", reason="import")
        found.append((made.pond_id, json.loads(made.job.model_dump_json())))
    store.close()
    return found


def at_once(server, ponds, *, writes, readers, save_every=SAVE_EVERY, number=1):
    """Let a client a pond write so many times while others read; return the times.

    Args:
        server: started.
        ponds: id and job of each.
        writes: of each client.
        readers: how many read meanwhile.
        save_every: one of so many writes saves a whole job, the others hand over an item; 0 saves none.
        number: revision of the ponds.
    """
    times, over = Times(), threading.Event()
    failures = []

    def guarded(work, *given):
        try:
            work(*given)
        except Exception as error:
            failures.append(error)

    writing = [
        threading.Thread(
            target=guarded, args=(_write, server, pond, job, number, (writes, save_every), times)
        )
        for pond, job in ponds
    ]
    reading = [
        threading.Thread(target=guarded, args=(_read, server, ponds[n % len(ponds)][0], over, times))
        for n in range(readers)
    ]
    for thread in (*writing, *reading):
        thread.start()
    for thread in writing:
        thread.join()
    over.set()
    for thread in reading:
        thread.join()
    if failures:
        raise failures[0]
    return times


def _call(link, method, path, body, wanted, times, seconds):
    begun = time.monotonic()
    link.request(method, path, body=body, headers=HEADERS)
    answer = link.getresponse()
    told = answer.read()
    seconds.append(time.monotonic() - begun)
    if answer.status not in wanted:
        times.refused.append((answer.status, told[:200]))


def _write(server, pond, job, number, how_many, times):
    writes, save_every = how_many
    link = http.client.HTTPConnection("127.0.0.1", server.port_number, timeout=120)
    for count in range(writes):
        if save_every and count % save_every == 0:
            body = json.dumps({**job, "name": f"{job['name']} {number}"})
            path = f"/api/v1/ponds/{pond}?made_on_number={number}"
            _call(link, "PUT", path, body, (200,), times, times.saves_s)
            number += 1
        else:
            made = item("note", count, id=str(uuid.uuid4()), pond_id=pond)
            path = f"/api/v1/capture/items/{made['id']}"
            _call(link, "PUT", path, text(made), (201,), times, times.items_s)
    link.close()


def _read(server, pond, over, times):
    link, count = http.client.HTTPConnection("127.0.0.1", server.port_number, timeout=60), 0
    while not over.is_set():
        _call(link, "GET", READS[count % len(READS)].format(pond=pond), None, (200,), times, times.reads_s)
        count += 1
        # a person looks at a page before they ask for the next
        over.wait(0.2)
    link.close()


def share(seconds, fraction):
    """Return the time that so large a share of the answers did not exceed [s]."""
    ordered = sorted(seconds)
    return ordered[min(len(ordered) - 1, int(fraction * len(ordered)))]
