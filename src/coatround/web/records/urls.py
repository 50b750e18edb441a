"""Addresses of people, dogs and setting up; they carry no prefix, so that every room can name them."""

from django.urls import path

from coatround.web.records.pages import changes, closing, dogs, households, people, set_up, work

urlpatterns = [
    path("people/", people.people, name="people"),
    path("people/new/", households.household_new, name="household-new"),
    path("people/<uuid:pk>/change/", households.household_change, name="household-change"),
    path("people/<uuid:pk>/person/", households.person_new, name="person-new"),
    path("people/<uuid:pk>/place/", households.place_new, name="place-new"),
    path("people/<uuid:pk>/dog/", dogs.dog_new, name="dog-new"),
    path("person/<uuid:pk>/", households.person, name="person"),
    path("place/<uuid:pk>/", households.place, name="place"),
    path("place/<uuid:pk>/keys/", households.place_keys, name="place-keys"),
    path("place/new/", households.depot_new, name="depot-new"),
    path("vets/", households.vets, name="vets"),
    path("vets/new/", households.vet_new, name="vet-new"),
    path("vets/<uuid:pk>/", households.vet, name="vet"),
    path("dog/<uuid:pk>/change/", dogs.dog_change, name="dog-change"),
    path("dog/<uuid:pk>/caution/", dogs.caution_new, name="caution-new"),
    path("dog/<uuid:pk>/usual/", dogs.usual, name="usual"),
    path("dog/<uuid:pk>/food/", dogs.food_new, name="food-new"),
    path("food/<uuid:pk>/", dogs.food, name="food"),
    path("caution/<uuid:pk>/", dogs.caution, name="caution"),
    path("close/<slug:kind>/<uuid:pk>/", closing.close, name="close"),
    path("open-again/<slug:kind>/<uuid:pk>/", closing.open_again, name="open-again"),
    path("changes/", changes.changes, name="changes"),
    path("set-up/", set_up.set_up, name="set-up"),
    path("set-up/follows/", set_up.follows, name="set-up-follows"),
    path("set-up/firm/", set_up.firm_change, name="set-up-firm"),
    path("set-up/van/", work.van_new, name="van-new"),
    path("set-up/van/<uuid:pk>/", work.van, name="van"),
    path("set-up/days-off/", work.day_off_new, name="day-off-new"),
    path("set-up/days-off/<uuid:pk>/drop/", work.day_off_drop, name="day-off-drop"),
    path("set-up/product/", work.product_new, name="product-new"),
    path("set-up/product/<uuid:pk>/", work.product, name="product"),
    path("set-up/groomer/", work.groomer_new, name="groomer-new"),
    path("set-up/groomer/<uuid:pk>/", work.groomer, name="groomer"),
    path("set-up/groomer/<uuid:pk>/link/", work.groomer_link, name="groomer-link"),
    path("set-up/password/", work.password, name="password"),
]
