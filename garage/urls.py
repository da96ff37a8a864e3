"""Every address of the site, by room."""

from django.urls import include, path

from garage import dashboard
from garage.views import account, backups, cars, condition, help, people, photos, settings

handler400 = "garage.views.errors.bad_request"
handler403 = "garage.views.errors.not_allowed"
handler404 = "garage.views.errors.not_found"
handler500 = "garage.views.errors.broken"

urlpatterns = [
    path("", dashboard.today, name="today"),
    path("today/systems/", dashboard.systems, name="today_systems"),
    path("", include("parts.urls")),
    path("", include("fabrication.urls")),
    # photos/
    path("photos/", photos.add, name="photo_add"),
    path("photos/<uuid:key>/<int:size>.jpg", photos.show, name="photo"),
    path("photos/<uuid:key>/original/", photos.original, name="photo_original"),
    # cars/
    path("cars/", cars.cars, name="cars"),
    path("cars/new/", cars.new, name="car_new"),
    path("cars/<int:pk>/", cars.car, name="car"),
    path("cars/<int:pk>/choose/", cars.choose, name="car_choose"),
    path("cars/<int:pk>/systems/", cars.systems, name="car_systems"),
    path("cars/<int:pk>/throw-out/", cars.throw_out, name="car_throw_out"),
    # people/ and settings/
    path("settings/", settings.settings, name="settings"),
    path("settings/mine/", settings.mine, name="settings_mine"),
    path("settings/backup/", backups.download, name="backup_download"),
    path("settings/condition/", condition.condition, name="condition"),
    path("settings/condition/back-up/", condition.back_up, name="condition_back_up"),
    path("settings/condition/copied/", condition.copied, name="condition_copied"),
    path("settings/condition/clock/", condition.clock_is_right, name="condition_clock"),
    path("people/", people.people, name="people"),
    path("people/<int:pk>/", people.person, name="person"),
    path("people/sign-out-everywhere/", people.sign_out_everywhere, name="sign_out_everywhere"),
    # coming in
    path("setup/", account.setup, name="setup"),
    path("sign-in/", account.sign_in, name="sign_in"),
    path("sign-out/", account.sign_out, name="sign_out"),
    path("pass-phrase/", account.pass_phrase, name="pass_phrase"),
    path("help/", help.help_page, name="help"),
]
