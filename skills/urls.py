"""Addresses of the skills app."""

from django.urls import URLPattern, URLResolver, path

from skills.views import home, progress, set_up, skills

door_patterns = [
    path("", home.home, name="home"),
    path("set-up/", set_up.set_up, name="set_up"),
]

skill_patterns = [
    path("skills/", skills.skills, name="skills"),
    path("skills/<slug:slug>/", skills.skill, name="skill"),
    path("skills/<slug:slug>/<slug:code>/", skills.step, name="step"),
]

progress_patterns = [
    path("progress/", progress.my_progress, name="my_progress"),
    path("progress/<uuid:athlete_id>/", progress.progress_of, name="progress_of"),
]

urlpatterns: list[URLPattern | URLResolver] = [*door_patterns, *skill_patterns, *progress_patterns]
