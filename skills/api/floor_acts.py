"""Acts of a tablet: a batch, each with a receipt of its own, and how what they touched stands now."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any, Final
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import PolymorphicProxySerializer, extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.tablets import ENROLLED, FloorView
from athletes.core.roster import NAME_LENGTH
from athletes.models import Load
from gymtrack.lib.bodies import MomentField, StrictSerializer
from gymtrack.lib.problems import places
from skills import telling
from skills.api.fields import CODE_LENGTH, codes_field
from skills.api.floor_reads import FloorLogRow, FloorTileRow
from skills.core.days import moment_us
from skills.core.device_times import ActClocks, EnvelopeClocks
from skills.core.entries import ASSISTANCES, DOUBTS, Mistake
from skills.floor_words import log_json, tiles_json
from skills.forms.sessions import LOW_BAR_CHECKS
from skills.queries.books import book_of
from skills.queries.floor import stamp_of
from skills.queries.floor_acts import attempts_by_id, news_of_all, sessions_by_id
from skills.queries.logs import News
from skills.services.floor import Act, Refused, Stored, take_act
from skills.services.floor.acts import digest_of

MOST_ACTS: Final = 20
_MOST_MS: Final = 10**13  # three hundred years
_WATCHED: Final = ("judged", "counted", "timed_only")


# ---- Bodies, by kind. What a figure may be is for the services to say, in words. --------------------------


class ResultBody(StrictSerializer):
    """The result of a try."""

    source = serializers.ChoiceField(_WATCHED)  # type: ignore[assignment] # the framework sets it aside
    hold_tenths = serializers.IntegerField(allow_null=True)
    reps = serializers.IntegerField()
    unbroken = serializers.BooleanField()
    assistance = serializers.ChoiceField(ASSISTANCES)
    variant = serializers.CharField(max_length=CODE_LENGTH, allow_blank=True)
    faults = codes_field()
    missed = codes_field()
    effort = serializers.IntegerField(allow_null=True)
    pain = serializers.BooleanField()
    grade = serializers.IntegerField()
    angle_degrees = serializers.IntegerField(allow_null=True)


class FloorAttemptBody(ResultBody):
    """A try; its id is the act's."""

    session = serializers.UUIDField()
    athlete = serializers.UUIDField()
    step = serializers.UUIDField()
    closed_reason = serializers.CharField(max_length=200, allow_blank=True)
    note = serializers.CharField(max_length=500, allow_blank=True)
    doubt = serializers.ChoiceField(DOUBTS, allow_blank=True)


class FloorVoidBody(StrictSerializer):
    """A try is taken back."""

    attempt = serializers.UUIDField()
    reason = serializers.CharField(max_length=200)


class MendBody(ResultBody):
    """A try is entered again, with another result, under the act's id."""

    attempt = serializers.UUIDField()
    doubt = serializers.ChoiceField(DOUBTS, allow_blank=True, allow_null=True, default=None)
    note = serializers.CharField(
        max_length=500, allow_blank=True, default="", help_text="Added to what was noted before, such as where it hurt."
    )


class MoveBody(StrictSerializer):
    """A try is entered again, for another athlete, under the act's id."""

    attempt = serializers.UUIDField()
    athlete = serializers.UUIDField()
    step = serializers.UUIDField()
    closed_reason = serializers.CharField(max_length=200, allow_blank=True)


class PresenceBody(StrictSerializer):
    """Somebody is here, or has gone."""

    session = serializers.UUIDField()
    athlete = serializers.UUIDField()


class GuestBody(StrictSerializer):
    """Somebody came by; the athlete's id is the act's."""

    session = serializers.UUIDField()
    name = serializers.CharField(max_length=NAME_LENGTH)
    is_minor = serializers.BooleanField()


class StepBody(PresenceBody):
    """Another step in hand."""

    step = serializers.UUIDField()


class StartBody(StrictSerializer):
    """A class begins; its id is the act's."""

    name = serializers.CharField(max_length=80)
    focus = serializers.UUIDField(allow_null=True)


class EndBody(StrictSerializer):
    """A class ends."""

    session = serializers.UUIDField()


class RotationBody(StrictSerializer):
    """A rotation of the class's plan begins, numbered from 0; their number ends the last one."""

    session = serializers.UUIDField()
    rotation = serializers.IntegerField(min_value=0, max_value=100)


class BarBody(StrictSerializer):
    """A low bar was looked over."""

    session = serializers.UUIDField()
    bar = serializers.CharField(max_length=60)
    lines = codes_field()

    def validate_lines(self, lines: list[str]) -> list[str]:
        """Refuse a check that leaves a line out."""
        missing = [text for code, text in LOW_BAR_CHECKS if code not in lines]
        if missing:
            raise ValidationError(f"Not ticked yet: {' '.join(missing)} The bar stays shut until all is so.")
        return lines


class CautionBody(PresenceBody):
    """What an athlete may not do from now on: for the rest of the day, or until a coach lifts it; its id is the act's.

    Steps with one of these loads are paused at once.
    """

    loads = serializers.ListField(child=serializers.ChoiceField(Load.values), min_length=1, max_length=len(Load))
    until = serializers.ChoiceField(["day", "lifted"])
    reason = serializers.CharField(max_length=500, allow_blank=True)


class SkinBody(PresenceBody):
    """Torn skin was seen: shown for a week, pauses nothing."""


BODIES: Final[Mapping[str, type[StrictSerializer]]] = {
    "attempt": FloorAttemptBody,
    "void": FloorVoidBody,
    "mend": MendBody,
    "move": MoveBody,
    "here": PresenceBody,
    "gone": PresenceBody,
    "guest": GuestBody,
    "step": StepBody,
    "start": StartBody,
    "end": EndBody,
    "rotation": RotationBody,
    "bar": BarBody,
    "caution": CautionBody,
    "skin": SkinBody,
}


_BY_KIND = PolymorphicProxySerializer("FloorActBody", [*dict.fromkeys(BODIES.values())], resource_type_field_name=None)


@extend_schema_field(_BY_KIND)
class ByKindField(serializers.DictField):
    """The body of an act, which is checked when its kind is known."""


class ActBody(StrictSerializer):
    """One act, with the device's clocks at the touch."""

    id = serializers.UUIDField(help_text="Made on the device; the same id twice is one act.")
    kind = serializers.ChoiceField([*BODIES])
    coach = serializers.UUIDField(help_text="Who did it, and must hold the tablet.")
    device_at = MomentField(help_text="The wall clock of the device, right or wrong.")
    offset_ms = serializers.IntegerField(
        allow_null=True, min_value=-_MOST_MS, max_value=_MOST_MS, help_text="The server's clock minus it, if known."
    )
    life = serializers.CharField(max_length=40, help_text="Which loading of the page `mono_ms` counts from.")
    mono_ms = serializers.FloatField(min_value=0, max_value=_MOST_MS)
    body = ByKindField()


@extend_schema_field(ActBody(many=True))
class ActsField(serializers.ListField):
    """Acts as they came: each is checked by itself, so that a bad one does not hold up the others."""

    child = serializers.JSONField(allow_null=True)


class ActsBody(StrictSerializer):
    """A batch of acts, with the device's clocks at the sending."""

    sent_at = MomentField()
    life = serializers.CharField(max_length=40)
    mono_ms = serializers.FloatField(min_value=0, max_value=_MOST_MS)
    acts = ActsField(min_length=1, max_length=MOST_ACTS)


# ---- The answer ------------------------------------------------------------------------------------------


class MistakeRow(serializers.Serializer[Any]):
    """What is wrong with an act."""

    field = serializers.CharField()
    sentence = serializers.CharField()


class ReceiptRow(serializers.Serializer[Any]):
    """What became of an act: "stored", with its moments and news, or "refused", with a code and a reason."""

    id = serializers.CharField()
    status = serializers.ChoiceField(["stored", "refused"])
    happened_at = MomentField(required=False)
    recorded_at = MomentField(required=False)
    news = serializers.ListField(child=serializers.CharField(), required=False)
    code = serializers.ChoiceField(
        ["hand_over", "early", "trouble", "taken", "mistakes", "right", "gone"],
        required=False,
        help_text="The first three mean: later. Everything else is final.",
    )
    reason = serializers.CharField(required=False)
    mistakes = MistakeRow(many=True, required=False)


class ActsAnswer(serializers.Serializer[Any]):
    """A receipt for each act, in their order, and how the athletes and attempts that they touched stand now."""

    at = MomentField()
    stamp = serializers.CharField()
    receipts = ReceiptRow(many=True)
    tiles = FloorTileRow(many=True)
    log = FloorLogRow(many=True)


class FloorActs(FloorView):
    """What was done on the gym floor."""

    access_rule = ENROLLED

    @extend_schema(request=ActsBody, responses=ActsAnswer)
    def post(self, _request: Request) -> Response:
        """Store acts, each once however often it is sent, and none less because another one was refused."""
        received_at, sent = timezone.now(), self.sent(ActsBody)
        self.heard(sent["sent_at"])
        envelope = EnvelopeClocks(moment_us(sent["sent_at"]), _us(sent["mono_ms"]), sent["life"])
        checked = [_checked(each) for each in sent["acts"]]
        taken = [
            act
            if isinstance(act, Refused)
            else (act, take_act(tablet=self.tablet, act=act, envelope=envelope, received_at=received_at))
            for act in checked
        ]
        return Response(_answer(self, sent["acts"], taken))


def _us(ms: float) -> int:
    return round(ms * 1000)


def _checked(sent: Any) -> Act | Refused:  # noqa: ANN401 (whatever was sent)
    """Return an act whose fields and body are in order, or everything that is wrong with it."""
    whole = ActBody(data=sent)
    if not whole.is_valid():
        return _mistaken(whole.errors)
    said = whole.validated_data
    body = BODIES[said["kind"]](data=said["body"])
    if not body.is_valid():
        return _mistaken(body.errors)
    offset_us = None if said["offset_ms"] is None else said["offset_ms"] * 1000
    return Act(
        id=said["id"],
        kind=said["kind"],
        coach_id=said["coach"],
        device_at=said["device_at"],
        clocks=ActClocks(moment_us(said["device_at"]), _us(said["mono_ms"]), said["life"], offset_us),
        body=body.validated_data,
        digest=digest_of(sent),
    )


def _mistaken(errors: Any) -> Refused:  # noqa: ANN401 (the library's)
    mistakes = tuple(Mistake(each["place"], each["sentence"]) for each in places(errors))
    return Refused("mistakes", " ".join(f"{mistake.field}: {mistake.sentence}" for mistake in mistakes), mistakes)


Taken = Refused | tuple[Act, Stored | Refused]


def _answer(view: FloorView, sent: Collection[Any], taken: Collection[Taken]) -> dict[str, Any]:
    gym, now = view.tablet.gym, timezone.now()
    gym.refresh_from_db(fields=["rules_stamp"])
    book = book_of(gym)
    stamp = stamp_of(gym, now)  # first: what is stored while the rest is read comes again with the next one
    stored = [*_stored(taken)]
    named = {act.id for act, _ in stored if act.kind in {"attempt", "mend", "move"}}
    # A receipt is for whoever sends the act again; how somebody stands is for a coach who holds the tablet.
    told = [act for act, answer in stored if answer.held]
    about = (named & {act.id for act in told}) | {act.body["attempt"] for act in told if "attempt" in act.body}
    attempts = attempts_by_id(gym, named | about)
    news = news_of_all(book, [row for key, row in attempts.items() if key in named], moment_us(now))
    shown = [row for key, row in attempts.items() if key in about]
    seen = _seen(told, shown)
    tiles: dict[UUID, Any] = {}
    log: list[dict[str, Any]] = []
    for session in reversed(sessions_by_id(gym, seen.keys())):
        tiles |= {tile["id"]: tile for tile in tiles_json(book, session, now, seen[session.id])}
        log += log_json(book, session, [row.id for row in shown if row.session_id == session.id])
    return {
        "at": now,
        "stamp": stamp,
        "receipts": [_receipt(each, result, news) for each, result in zip(sent, taken, strict=True)],
        "tiles": [*tiles.values()],
        "log": log,
    }


def _stored(taken: Collection[Taken]) -> Iterator[tuple[Act, Stored]]:
    for each in taken:
        if not isinstance(each, Refused) and isinstance(each[1], Stored):
            yield each[0], each[1]


def _seen(acts: Collection[Act], attempts: Collection[Any]) -> dict[UUID, set[UUID]]:
    """Return the athletes whom acts were about, by the session."""
    seen: dict[UUID, set[UUID]] = {}
    for act in acts:
        athlete = act.id if act.kind == "guest" else act.body.get("athlete")
        if "session" in act.body and athlete:
            seen.setdefault(act.body["session"], set()).add(athlete)
    for row in attempts:
        if row.session_id:
            seen.setdefault(row.session_id, set()).add(row.athlete_id)
    return seen


def _receipt(sent: Any, result: Taken, news: Mapping[UUID, News]) -> dict[str, Any]:  # noqa: ANN401 (as sent)
    answer = result if isinstance(result, Refused) else result[1]
    if isinstance(answer, Stored):
        row = answer.row
        lines = _news_lines(news[row.id]) if row.id in news else []
        return {
            "id": row.id,
            "status": "stored",
            "happened_at": row.happened_at,
            "recorded_at": row.recorded_at,
            "news": lines,
        }
    mistakes = [{"field": mistake.field, "sentence": mistake.sentence} for mistake in answer.mistakes]
    return {"id": _id_of(sent), "status": "refused", "code": answer.code, "reason": answer.reason, "mistakes": mistakes}


def _id_of(sent: Any) -> str:  # noqa: ANN401 (as sent)
    """Return the id that an act came with, whatever it is, so that the device knows which one is meant."""
    return str(sent.get("id", ""))[:CODE_LENGTH] if isinstance(sent, Mapping) else ""


def _news_lines(news: News) -> list[str]:
    waiting = [
        f"Waits for a coach's word, {telling.GATES[gate]}: {telling.step_name(page)}" for page, gate in news.waiting
    ]
    return [*telling.news_words(news), *waiting]
