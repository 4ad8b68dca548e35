"""The addresses of housing."""

from django.urls import path

from farm.web.housing import card, views, writing

urlpatterns = [
    path("housing/", views.listing, name="housing"),
    path("housing/new/", writing.new, name="housing-new"),
    path("housing/<int:pk>/", views.page, name="housing-page"),
    path("housing/<int:pk>/edit/", writing.edit, name="housing-edit"),
    path("housing/<int:pk>/remove/", writing.remove, name="housing-remove"),
    path("housing/<int:pk>/observe/", writing.observe, name="housing-observe"),
    path("housing/<int:pk>/card/", card.printed, name="housing-print"),
    path("h/<str:code>/", card.opened, name="housing-card"),
]
