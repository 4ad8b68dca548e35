"""Addresses of the members' pages."""

from django.urls import path

from farm.web.people import views

urlpatterns = [
    path("people/", views.people, name="people"),
    path("people/new/", views.add, name="member-new"),
    path("people/<int:pk>/", views.change, name="member-edit"),
    path("people/<int:pk>/leave/", views.leave, name="member-leave"),
    path("people/<int:pk>/invite/", views.invite, name="member-invite"),
]
