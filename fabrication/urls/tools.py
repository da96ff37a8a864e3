from django.urls import path

from fabrication.views import tools

urlpatterns = [
    path("formers/", tools.formers, name="formers"),
    path("formers/new/", tools.former_new, name="former_new"),
    path("formers/<int:pk>/", tools.former, name="former"),
    path("tube/", tools.tube_stock, name="tube_stock"),
    path("tube/new/", tools.tube_stock_new, name="tube_stock_new"),
]
