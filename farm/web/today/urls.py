"""The addresses of today."""

from django.urls import path

from farm.web.today import marks, put_off, seen, views

urlpatterns = [
    path("", views.today, name="today"),
    path("day-sheet/", views.sheet, name="day-sheet"),
    path("today/mark/", marks.mark, name="chore-mark"),
    path("today/mark-rest/", marks.mark_rest, name="chore-mark-rest"),
    path("today/unmark/", marks.unmark, name="chore-unmark"),
    path("today/put-off/", put_off.put_off, name="chore-put-off"),
    path("today/bring-back/", put_off.bring_back, name="chore-bring-back"),
    path("today/seen/<int:pk>/", seen.see, name="today-seen"),
]
