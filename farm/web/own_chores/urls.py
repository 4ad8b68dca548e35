"""The addresses of the keeper's own chores."""

from django.urls import path

from farm.web.own_chores import views

urlpatterns = [
    path("people/chores/", views.listing, name="own-chores"),
    path("people/chores/new/", views.new, name="own-chore-new"),
    path("people/chores/days/", views.days, name="own-chore-days"),
    path("people/chores/<int:pk>/", views.edit, name="own-chore-edit"),
    path("people/chores/<int:pk>/end/", views.end, name="own-chore-end"),
    path("people/chores/<int:pk>/remove/", views.remove, name="own-chore-remove"),
]
