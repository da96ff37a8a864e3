from django.urls import path

from fabrication.views import bonds

urlpatterns = [
    path("bonds/", bonds.bond_sheets, name="bonds"),
    path("bonds/new/", bonds.bond_begin, name="bond_begin"),
    path("pieces/<int:pk>/bond/", bonds.bond_new, name="bond_new"),
    path("bonds/<int:pk>/", bonds.bond, name="bond"),
    path("bonds/<int:pk>/mix/", bonds.bond_mix, name="bond_mix"),
    path("bonds/<int:pk>/hard/", bonds.bond_hard, name="bond_hard"),
    path("bonds/<int:pk>/apart/", bonds.bond_part, name="bond_part"),
]
