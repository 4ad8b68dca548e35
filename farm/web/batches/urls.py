"""The addresses of batches."""

from django.urls import path

from farm.web.batches import counting, seeing, views, writing

urlpatterns = [
    path("batches/", views.listing, name="batches"),
    path("batches/new/", writing.new, name="batch-new"),
    path("batches/<int:pk>/", views.page, name="batch"),
    path("batches/<int:pk>/edit/", writing.edit, name="batch-edit"),
    path("batches/<int:pk>/count/", counting.count, name="batch-count"),
    path("batches/<int:pk>/observe/", seeing.observe, name="batch-observe"),
    path("counts/<int:pk>/reverse/", counting.reverse, name="batch-count-reverse"),
]
