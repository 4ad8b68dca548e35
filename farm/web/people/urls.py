"""Addresses of the members' pages."""

from django.urls import path

from farm.web.people import away, links, views

urlpatterns = [
    path("people/members/", views.listing, name="members"),
    path("people/new/", views.add, name="member-new"),
    path("people/<int:pk>/", views.change, name="member-edit"),
    path("people/<int:pk>/leave/", views.leave, name="member-leave"),
    path("people/<int:pk>/invite/", views.invite, name="member-invite"),
    path("people/<int:pk>/away/", away.days, name="member-away"),
    path("people/away/<int:pk>/remove/", away.remove, name="away-remove"),
    path("people/<int:pk>/links/", links.links, name="member-links"),
    path("people/links/<int:pk>/off/", links.off, name="member-link-off"),
]
