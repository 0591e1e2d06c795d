"""All addresses: the top floor."""

from django.urls import include, path

urlpatterns = [
    path("", include("athletes.urls")),
    path("", include("skills.urls")),
]
