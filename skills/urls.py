"""Addresses of the skills app."""

from django.urls import URLPattern, URLResolver, path

from skills.views import (
    alone,
    athletes,
    attempts,
    authoring,
    bars,
    cautions,
    class_plans,
    class_runs,
    corrections,
    criteria,
    curves,
    doses,
    floor,
    gyms,
    home,
    months,
    my_data,
    own_practice,
    panels,
    progress,
    proofs,
    safety,
    sessions,
    set_up,
    sheets,
    sign_offs,
    skills,
    stills,
    today,
    what_ifs,
    whys,
    work_places,
)

door_patterns = [
    path("", home.home, name="home"),
    path("set-up/", set_up.set_up, name="set_up"),
    path("gym/", gyms.gym, name="gym"),
]

skill_patterns = [
    path("skills/", skills.skills, name="skills"),
    path("skills/add/", authoring.skill_add, name="skill_add"),
    path("skills/import/", authoring.skill_import, name="skill_import"),
    path("skills/schema.json", authoring.skill_schema_file, name="skill_schema"),
    path("skills/<slug:slug>.yaml", authoring.skill_export, name="skill_export"),
    path("skills/<slug:slug>/", skills.skill, name="skill"),
    path("skills/<slug:slug>/change/", authoring.skill_change, name="skill_change"),
    path("skills/<slug:slug>/add/", authoring.step_add, name="step_add"),
    path("skills/<slug:slug>/<slug:code>/", skills.step, name="step"),
    path("skills/<slug:slug>/<slug:code>/change/", authoring.step_change, name="step_change"),
    path("skills/<slug:slug>/<slug:code>/order/", authoring.step_order, name="step_order"),
    path("skills/<slug:slug>/<slug:code>/criterion/", criteria.criterion_edit, name="criterion_edit"),
    path("skills/<slug:slug>/<slug:code>/criterion/curve/", curves.criterion_curve, name="criterion_curve"),
    path("skills/<slug:slug>/<slug:code>/criterion/trial/", criteria.criterion_trial, name="criterion_trial"),
    path("skills/<slug:slug>/<slug:code>/criterion/adopt/", criteria.criterion_adopt, name="criterion_adopt"),
]

progress_patterns = [
    path("progress/", progress.my_progress, name="my_progress"),
    path("progress/<uuid:athlete_id>/", progress.progress_of, name="progress_of"),
    path("progress/<uuid:athlete_id>/pdf/", sheets.progress_pdf, name="progress_pdf"),
    path("progress/<uuid:athlete_id>/practice/", own_practice.own_practice, name="own_practice"),
    path(
        "progress/<uuid:athlete_id>/practice/<uuid:attempt_id>/undo/",
        own_practice.own_practice_undo,
        name="own_practice_undo",
    ),
    path("linked/", progress.linked, name="linked"),
    path("linked/pdf/", sheets.linked_pdf, name="linked_pdf"),
]

archive_patterns = [
    path("my-data/archive/", my_data.archive_mine, name="archive_mine"),
    path("my-data/<uuid:athlete_id>/archive/", my_data.archive_ward, name="archive_ward"),
    path("gym/archives/<uuid:person_id>/", my_data.archive_of, name="archive_of"),
]

session_patterns = [
    path("today/", today.today, name="today"),
    path("sessions/start/", sessions.session_start, name="session_start"),
    path("sessions/<uuid:session_id>/", sessions.session, name="session"),
    path("sessions/<uuid:session_id>/present/", sessions.session_present, name="session_present"),
    path("sessions/<uuid:session_id>/end/", sessions.session_end, name="session_end"),
    path("sessions/<uuid:session_id>/wall/", class_runs.class_wall, name="class_wall"),
    path("sessions/<uuid:session_id>/rotation/", class_runs.class_rotation, name="class_rotation"),
    path("sessions/<uuid:session_id>/plan.pdf", class_runs.class_plan_pdf, name="class_plan_pdf"),
    path("sessions/<uuid:session_id>/athletes/<uuid:athlete_id>/", panels.session_athlete, name="session_athlete"),
    path("sessions/<uuid:session_id>/athletes/<uuid:athlete_id>/step/", panels.session_step, name="session_step"),
    path(
        "sessions/<uuid:session_id>/athletes/<uuid:athlete_id>/unwell/", cautions.session_unwell, name="session_unwell"
    ),
    path("sessions/<uuid:session_id>/attempts/", attempts.attempt_log, name="attempt_log"),
    path("sessions/<uuid:session_id>/bar-check/", panels.bar_check, name="bar_check"),
    path("attempts/<uuid:attempt_id>/void/", attempts.attempt_void, name="attempt_void"),
    path("attempts/<uuid:attempt_id>/mend/", corrections.attempt_mend, name="attempt_mend"),
    path("attempts/<uuid:attempt_id>/move/", corrections.attempt_move, name="attempt_move"),
    path("attempts/<uuid:attempt_id>/angle/", stills.attempt_angle, name="attempt_angle"),
]

floor_patterns = [
    path("floor/", floor.floor, name="floor"),
    path("floor/app.js", floor.floor_app, name="floor_app"),
    path("floor/styles.css", floor.floor_styles, name="floor_styles"),
    path("floor/screens.js", floor.floor_screens, name="floor_screens"),
    path("floor/manifest.webmanifest", floor.floor_manifest, name="floor_manifest"),
    path("sw.js", floor.service_worker, name="service_worker"),
]

coach_patterns = [
    path("alone/", alone.alone, name="alone"),
    path("sign-offs/", sign_offs.sign_offs, name="sign_offs"),
    path("sign-offs/<uuid:athlete_id>/<uuid:step_id>/<slug:gate>/", sign_offs.sign_off, name="sign_off"),
    path("risk-notes/<uuid:step_id>/read/", safety.risk_read, name="risk_read"),
    path("incidents/", safety.incidents, name="incidents"),
    path("incidents/add/", safety.incident_add, name="incident_add"),
    path("incidents/file.csv", safety.incidents_csv, name="incidents_csv"),
    path("incidents/<uuid:incident_id>/", safety.incident, name="incident"),
    path("incidents/<uuid:incident_id>/note/", safety.incident_note, name="incident_note"),
    path("equipment/", safety.equipment, name="equipment"),
    path("equipment/check/", safety.equipment_check, name="equipment_check"),
    path("equipment/file.csv", safety.equipment_csv, name="equipment_csv"),
    path("sessions/<uuid:session_id>/plan/", class_plans.class_plan, name="class_plan"),
    path("sessions/<uuid:session_id>/plan/make/", class_plans.class_plan_make, name="class_plan_make"),
    path(
        "sessions/<uuid:session_id>/plan/<uuid:athlete_id>/<int:rotation>/",
        class_plans.class_plan_person,
        name="class_plan_person",
    ),
    path("stations/", work_places.work_places, name="work_places"),
    path("stations/add/", work_places.work_place_add, name="work_place_add"),
    path("stations/<uuid:place_id>/change/", work_places.work_place_change, name="work_place_change"),
    path("stations/<uuid:place_id>/retire/", work_places.work_place_retire, name="work_place_retire"),
    path("bars/", bars.bars, name="bars"),
    path("bars/add/", bars.bar_add, name="bar_add"),
    path("bars/<uuid:bar_id>/change/", bars.bar_change, name="bar_change"),
    path("bars/<uuid:bar_id>/retire/", bars.bar_retire, name="bar_retire"),
    path("bars/<uuid:bar_id>/check/", bars.bar_set, name="bar_set"),
    path("sessions/<uuid:session_id>/bar/", bars.share_bar, name="share_bar"),
    path("athletes/<uuid:athlete_id>/bar/<slug:code>/", bars.set_bar, name="set_bar"),
    path("athletes/<uuid:athlete_id>/", athletes.athlete, name="athlete"),
    path("athletes/<uuid:athlete_id>/dose/", doses.doses, name="doses"),
    path("athletes/<uuid:athlete_id>/dose/<slug:code>/", doses.dose_change, name="dose_change"),
    path("athletes/<uuid:athlete_id>/why/<slug:code>/", whys.why, name="why"),
    path("athletes/<uuid:athlete_id>/proof/", proofs.proof_choose, name="proof_choose"),
    path("athletes/<uuid:athlete_id>/proof/<str:day>/", proofs.proof, name="proof"),
    path("athletes/<uuid:athlete_id>/cautions/add/", cautions.caution_add, name="caution_add"),
    path("cautions/<uuid:caution_id>/lift/", cautions.caution_lift, name="caution_lift"),
]

month_patterns = [
    path("month/", months.month, name="month"),
    path("month/<str:name>.csv", months.month_csv_file, name="month_csv"),
    path("month/<str:name>/", months.month_of, name="month_of"),
    path("what-if/", what_ifs.what_if, name="what_if"),
]

urlpatterns: list[URLPattern | URLResolver] = [
    *door_patterns,
    *skill_patterns,
    *progress_patterns,
    *archive_patterns,
    *session_patterns,
    *floor_patterns,
    *coach_patterns,
    *month_patterns,
]
