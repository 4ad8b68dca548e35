"""The addresses of today."""

from django.urls import path

from farm.web.today import marks, seen, views

urlpatterns = [
    path("", views.today, name="today"),
    path("day-sheet/", views.sheet, name="day-sheet"),
    path("today/mark/", marks.mark, name="chore-mark"),
    path("today/mark-rest/", marks.mark_rest, name="chore-mark-rest"),
    path("today/unmark/", marks.unmark, name="chore-unmark"),
    path("today/seen/<int:pk>/", seen.see, name="today-seen"),
]
