"""Addresses of the rota's pages."""

from django.urls import path

from farm.web.rota import fairness, rules, turn, week

urlpatterns = [
    path("people/", week.page, name="people"),
    path("people/sheet/", week.sheet, name="week-sheet"),
    path("people/round/", turn.page, name="rota-round"),
    path("people/round/give/", turn.give, name="rota-give"),
    path("people/round/let-go/", turn.let_go, name="rota-let-go"),
    path("people/fairness/", fairness.page, name="fairness"),
    path("people/rota/start/", rules.start, name="rota-start"),
    path("people/rota/", rules.change, name="rota-rules"),
    path("people/rota/stop/", rules.stop, name="rota-stop"),
]
