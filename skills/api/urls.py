"""Addresses of the API, under /api/v1/."""

from django.urls import path, re_path

from athletes.api.athletes import AthleteList, AthleteOne
from athletes.api.hand_overs import Enrol, Hello, Leave, TakeOver
from athletes.api.schema import Schema
from skills.api.attempts import AttemptList, AttemptOne, AttemptVoid
from skills.api.bars import BarList
from skills.api.floor_acts import FloorActs
from skills.api.floor_reads import FloorClass, FloorDay
from skills.api.months import MonthOne
from skills.api.nowhere import Nowhere
from skills.api.sessions import Presence, SessionEnd, SessionList, SessionOne
from skills.api.sign_offs import SignOffList
from skills.api.skills import SkillList, SkillOne
from skills.api.states import StatesOf

urlpatterns = [
    path("athletes/", AthleteList.as_view(), name="api_athletes"),
    path("athletes/<uuid:athlete_id>/", AthleteOne.as_view(), name="api_athlete"),
    path("athletes/<uuid:athlete_id>/states/", StatesOf.as_view(), name="api_states"),
    path("skills/", SkillList.as_view(), name="api_skills"),
    path("skills/<slug:slug>/", SkillOne.as_view(), name="api_skill"),
    path("bars/", BarList.as_view(), name="api_bars"),
    path("sessions/", SessionList.as_view(), name="api_sessions"),
    path("sessions/<uuid:session_id>/", SessionOne.as_view(), name="api_session"),
    path("sessions/<uuid:session_id>/end/", SessionEnd.as_view(), name="api_session_end"),
    path("sessions/<uuid:session_id>/athletes/<uuid:athlete_id>/", Presence.as_view(), name="api_presence"),
    path("attempts/", AttemptList.as_view(), name="api_attempts"),
    path("attempts/<uuid:attempt_id>/", AttemptOne.as_view(), name="api_attempt"),
    path("attempts/<uuid:attempt_id>/void/", AttemptVoid.as_view(), name="api_attempt_void"),
    path("sign-offs/", SignOffList.as_view(), name="api_sign_offs"),
    path("months/<str:month>/", MonthOne.as_view(), name="api_month"),
    path("floor/enrol/", Enrol.as_view(), name="floor_enrol"),
    path("floor/hello/", Hello.as_view(), name="floor_hello"),
    path("floor/hand-over/", TakeOver.as_view(), name="floor_hand_over"),
    path("floor/leave/", Leave.as_view(), name="floor_leave"),
    path("floor/today/", FloorDay.as_view(), name="floor_today"),
    path("floor/sessions/<uuid:session_id>/", FloorClass.as_view(), name="floor_session"),
    path("floor/acts/", FloorActs.as_view(), name="floor_acts"),
    path("schema/", Schema.as_view(), name="api_schema"),
    re_path("", Nowhere.as_view(), name="api_nowhere"),
]
