"""Calendar: days on which a green is closed, or is played on."""

from schemas.field import Field
from schemas.kind import Kind
from schemas.shared import NOTE

CALENDAR = Kind(
    name="calendar",
    title="calendar",
    grain="one closure or match of a green, of a club's greens or of all",
    order=("from_day", "club", "green"),
    often_constant=("occasion", "club"),
    attached=False,
    ahead=True,
    suggested=False,
    fields=(
        Field("green", "code", "Green it is about; blank for all of the club's.", key=True, refers="green",
              also=("green code",), example="ALD-1"),
        Field("club", "code", "Club whose greens it is about. Neither green nor club: every green.", key=True, refers="club",
              also=("club code",)),
        Field("from_day", "date", "Day, or first of several.", required=True, key=True,
              also=("date", "match date", "fixture date", "closed from"), example="2026-05-09"),
        Field("to_day", "date", "Last day; the same as from_day where left blank.", also=("until", "closed to"), example=""),
        Field("occasion", "choice", "Whether the green is closed (no work can be done on it, or nobody may go on it) or a match "
              "is played.", choices="occasion", required=True, key=True, also=("closed or match",), example="match"),
        Field("home_or_away", "choice", "Of a match: at home, which takes the green, or away, which does not; at home where "
              "left blank.", choices="home_or_away", also=("venue", "h/a", "home/away"), example="home"),
        Field("title", "text", "What is on, as the club's list says it: competition, opponents.", key=True,
              also=("fixture", "match", "event", "competition", "opponents", "against"), example="county pairs"),
        NOTE,
    ),
)  # fmt: skip
