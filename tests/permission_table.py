"""Who may do what: one line for each address, with what each role gets by GET and by an empty POST.

Words: ``ok`` a page; ``go`` sent on after the deed; ``in`` sent to sign in; ``401`` the same, with what was typed
to copy; ``403`` not for this role; ``404`` no such thing for you; ``405`` not by this method; ``400`` the form
back, with what is missing. A role's word stands in the order of ROLES.
"""

from __future__ import annotations

from dataclasses import dataclass

from tests.permission_table_accounts import ACCOUNTS

# The last three belong to the other school, with ``stranger``, who teaches there.
ROLES = (
    "anonymous",
    "pupil",
    "other_pupil",
    "teacher",
    "other_teacher",
    "head",
    "administrator",
    "stranger",
    "foreign_pupil",
    "foreign_head",
    "foreign_administrator",
)


@dataclass(frozen=True)
class Line:
    """An address: its route, the objects of the world in its placeholders, and a word for each role."""

    route: str
    objects: tuple[str, ...]
    get: tuple[str, ...]
    post: tuple[str, ...]


TABLE = """
/
    GET   in  go  go  go  go  go  go  go  go  go  go
    POST  405
/health/
    GET   ok
    POST  405
/health/live/
    GET   ok
    POST  405
/metrics/
    GET   404
    POST  404
/tasks/
    GET   in  403 403 403 403 403 ok  403 403 403 ok
    POST  405
/tasks/again/
    GET   405
    POST  401 403 403 403 403 403 go  403 403 403 go
/bank/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  405
/bank/new/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  401 403 403 ok  ok  ok  ok  ok  403 ok  ok
/bank/preview/
    GET   405
    POST  401 403 403 422 422 422 422 422 403 422 422
/bank/preview/
    GET   405
    POST  401 403 403 422 422 422 422 422 403 422 422
/bank/make/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  401 403 403 400 400 400 400 400 403 400 400
/bank/make/<int:pk>/ batch
    GET   in  403 403 ok  404 404 404 404 403 404 404
    POST  405
/bank/make/<int:pk>/go-on/ batch
    GET   405
    POST  401 403 403 go  404 404 404 404 403 404 404
/bank/make/<int:pk>/stop/ batch
    GET   405
    POST  401 403 403 go  404 404 404 404 403 404 404
/bank/make/<int:pk>/save/ batch
    GET   405
    POST  401 403 403 400 404 404 404 404 403 404 404
/bank/make/<int:pk>/<int:place>/ batch place
    GET   405
    POST  401 403 403 go  404 404 404 404 403 404 404
/bank/tags/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  405
/bank/tags/change/
    GET   405
    POST  401 403 403 400 400 400 400 400 403 400 400
/bank/searches/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  401 403 403 go  go  go  go  go  403 go  go
/bank/searches/<int:pk>/ search
    GET   405
    POST  401 403 403 400 404 404 404 404 403 404 404
/bank/chosen/
    GET   405
    POST  401 403 403 go  go  go  go  go  403 go  go
/bank/chosen/tags/
    GET   405
    POST  401 403 403 go  go  go  go  go  403 go  go
/bank/chosen/state/
    GET   405
    POST  401 403 403 go  go  go  go  go  403 go  go
/bank/chosen/pictures/
    GET   405
    POST  401 403 403 go  go  go  go  go  403 go  go
/bank/export/
    GET   405
    POST  401 403 403 go  go  go  go  go  403 go  go
/bank/import/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  401 403 403 400 400 400 400 400 403 400 400
/bank/import/<int:pk>/ import
    GET   in  403 403 ok  404 404 404 404 403 404 404
    POST  401 403 403 400 404 404 404 404 403 404 404
/bank/format/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  405
/bank/format/questions-1.schema.json
    GET   ok
    POST  405
/bank/<int:pk>/ question
    GET   in  403 403 ok  ok  ok  ok  404 403 404 404
    POST  405
/bank/<int:pk>/edit/ question
    GET   in  403 403 ok  ok  ok  ok  404 403 404 404
    POST  401 403 403 ok  ok  ok  ok  404 403 404 404
/bank/<int:pk>/board/ question
    GET   in  403 403 ok  ok  ok  ok  404 403 404 404
    POST  405
/bank/<int:pk>/variants/ question
    GET   405
    POST  401 403 403 go  go  go  go  404 403 404 404
/bank/<int:pk>/sister/ question
    GET   405
    POST  401 403 403 go  go  go  go  404 403 404 404
/bank/<int:pk>/versions/ question
    GET   in  403 403 ok  ok  ok  ok  404 403 404 404
    POST  405
/bank/<int:pk>/versions/<int:number>/restore/ question place
    GET   405
    POST  401 403 403 go  go  go  go  404 403 404 404
/bank/<int:pk>/copy/ question
    GET   405
    POST  401 403 403 go  go  go  go  404 403 404 404
/bank/<int:pk>/ready/ question
    GET   405
    POST  401 403 403 go  go  go  go  404 403 404 404
/bank/<int:pk>/retire/ question
    GET   405
    POST  401 403 403 go  go  go  go  404 403 404 404
/bank/<int:pk>/restore/ question
    GET   405
    POST  401 403 403 go  go  go  go  404 403 404 404
/bank/pictures/<picture_name:name>.<picture_ending:ending> picture png
    GET   in  403 403 ok  ok  ok  ok  404 403 404 404
    POST  405
/sets/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  405
/sets/new/
    GET   in  403 403 ok  ok  ok  403 ok  403 ok  403
    POST  401 403 403 400 400 400 403 400 403 400 403
/sets/put/
    GET   405
    POST  401 403 403 go  go  go  403 go  403 go  403
/sets/<int:pk>/ set
    GET   in  403 403 ok  ok  ok  ok  404 403 404 404
    POST  405
/sets/<int:pk>/rename/ set
    GET   in  403 403 ok  ok  ok  403 404 403 404 403
    POST  401 403 403 400 400 400 403 404 403 404 403
/sets/<int:pk>/add/ set
    GET   in  403 403 ok  ok  ok  403 404 403 404 403
    POST  401 403 403 400 400 400 403 404 403 404 403
/sets/<int:pk>/rule/ set
    GET   in  403 403 ok  ok  ok  403 404 403 404 403
    POST  401 403 403 400 400 400 403 404 403 404 403
/sets/<int:pk>/redraw/ set
    GET   405
    POST  401 403 403 go  go  go  403 404 403 404 403
/sets/<int:pk>/parallel/ set
    GET   in  403 403 ok  ok  ok  403 404 403 404 403
    POST  401 403 403 400 400 400 403 404 403 404 403
/sets/<int:pk>/order/ set
    GET   405
    POST  401 403 403 go  go  go  403 404 403 404 403
/sets/<int:pk>/remove/ set
    GET   405
    POST  401 403 403 go  go  go  403 404 403 404 403
/sets/<int:pk>/retire/ set
    GET   405
    POST  401 403 403 go  go  go  403 404 403 404 403
/sets/<int:pk>/restore/ set
    GET   405
    POST  401 403 403 go  go  go  403 404 403 404 403
/sets/<int:pk>/assign/ set
    GET   in  403 403 ok  ok  ok  403 404 403 404 403
    POST  401 403 403 400 400 409 403 404 403 404 403
/sets/<int:pk>/board/<int:place>/ set place
    GET   in  403 403 ok  ok  ok  ok  404 403 404 404
    POST  405
/sets/<int:pk>/print/ set
    GET   in  403 403 ok  ok  ok  ok  404 403 404 404
    POST  401 403 403 400 400 400 400 404 403 404 404
/print/<int:pk>/ print
    GET   in  403 403 ok  404 404 404 404 403 404 404
    POST  401 403 403 go  404 404 404 404 403 404 404
/print/<int:pk>/<int:place>/ print place
    GET   in  403 403 ok  404 404 404 404 403 404 404
    POST  405
/results/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  405
/results/answers.csv
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  405
/results/sittings.csv
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  405
/results/columns/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  405
/results/items.csv
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  405
/results/mistakes.csv
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  405
/results/questions/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  405
/results/questions/<int:pk>/ version
    GET   in  403 403 ok  ok  ok  ok  404 403 404 404
    POST  405
/results/sets/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  405
/results/classes/<int:pk>/ class
    GET   in  403 403 ok  404 ok  ok  404 403 404 404
    POST  405
/results/pupils/<int:pk>/ pupil
    GET   in  403 403 ok  404 ok  ok  404 403 404 404
    POST  405
/results/<int:pk>/ over
    GET   in  403 403 ok  404 ok  ok  404 403 404 404
    POST  405
/results/<int:pk>/board/<int:place>/ over place
    GET   in  403 403 ok  404 ok  ok  404 403 404 404
    POST  405
/results/<int:pk>/teach/ over
    GET   in  403 403 ok  404 ok  ok  404 403 404 404
    POST  405
/results/<int:pk>/marking/ over
    GET   in  403 403 ok  404 ok  403 404 403 404 403
    POST  401 403 403 400 404 400 403 404 403 404 403
/results/<int:pk>/practice/ over
    GET   405
    POST  401 403 403 go  404 go  403 404 403 404 403
/results/<int:pk>/print/ over
    GET   in  403 403 ok  404 ok  ok  404 403 404 404
    POST  401 403 403 400 404 400 400 404 403 404 404
/results/<int:pk>/paper/ over
    GET   in  403 403 ok  404 ok  403 404 403 404 403
    POST  401 403 403 400 404 400 403 404 403 404 403
/results/<int:pk>/monitor/ assignment
    GET   in  403 403 ok  404 ok  ok  404 403 404 404
    POST  405
/results/<int:pk>/time/ assignment
    GET   405
    POST  401 403 403 400 404 400 403 404 403 404 403
/results/<int:pk>/change/ over
    GET   in  403 403 ok  404 ok  403 404 403 404 403
    POST  401 403 403 409 404 409 403 404 403 404 403
/results/<int:pk>/pupils/<int:pupil_pk>/ over pupil
    GET   in  403 403 ok  404 ok  ok  404 403 404 404
    POST  405
/results/<int:pk>/pupils/<int:pupil_pk>/<int:place>/ over pupil place
    GET   in  403 403 ok  404 ok  ok  404 403 404 404
    POST  405
/my/
    GET   in  ok  ok  403 403 403 403 403 ok  403 403
    POST  405
/my/<int:pk>/ assignment
    GET   in  ok  404 403 403 403 403 403 404 403 403
    POST  401 go  404 403 403 403 403 403 404 403 403
/my/try/
    GET   in  ok  ok  403 403 403 403 403 ok  403 403
    POST  405
/sitting/<int:pk>/<int:place>/ sitting place
    GET   in  go  404 403 403 403 403 403 404 403 403
    POST  405
/sitting/<int:pk>/answer/ sitting
    GET   405
    POST  401 400 404 403 403 403 403 403 404 403 403
/sitting/<int:pk>/finish/ sitting
    GET   in  go  404 403 403 403 403 403 404 403 403
    POST  401 go  404 403 403 403 403 403 404 403 403
/sitting/<int:pk>/time/ sitting
    GET   in  ok  404 403 403 403 403 403 404 403 403
    POST  405
/sitting/<int:pk>/review/<int:place>/ sitting place
    GET   in  404 404 403 403 403 403 403 404 403 403
    POST  405
/sitting/<int:pk>/again/<int:place>/ sitting place
    GET   in  404 404 403 403 403 403 403 404 403 403
    POST  405
/sitting/<int:pk>/again/<int:place>/ reviewed place
    GET   in  ok  404 403 403 403 403 403 404 403 403
    POST  405
/sitting/<int:pk>/review/<int:place>/ reviewed place
    GET   in  ok  404 403 403 403 403 403 404 403 403
    POST  405
"""


def lines() -> list[Line]:
    """Three lines of the table make one: the route with its objects, then words for GET and for POST."""
    text = (TABLE + ACCOUNTS).strip().splitlines()
    return [_read(*text[start : start + 3]) for start in range(0, len(text), 3)]


def _read(place: str, get: str, post: str) -> Line:
    route, *objects = place.split()
    return Line(route, tuple(objects), _words(get, "GET"), _words(post, "POST"))


def _words(text: str, method: str) -> tuple[str, ...]:
    """The words after the method's name; a single one stands for all roles."""
    name, *words = text.split()
    words = words * len(ROLES) if len(words) == 1 else words
    assert (name, len(words)) == (method, len(ROLES)), f"a line of the table is out of place: {text}"
    return tuple(words)
