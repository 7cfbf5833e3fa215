# Co uprawia gospodarstwo: lista, nowa uprawa i wartości każdej z nich.
command-crops = Uprawy: ceny, porcje, nowa uprawa
crops-heading = <b>Uprawy</b>
crops-line = { $crop }
crops-line-resting = { $crop } – przerwa
button-new-crop = Nowa uprawa
button-all-crops = Wszystkie
crop-like-question = Nowa uprawa. Do której jest podobna?
button-like-blocks = Jak { $crop }: bloki, moczone
button-like-bags = Jak { $crop }: worki, otwierane
crop-name-first = Jak się nazywa? Najpierw: { $language }. Można też podać wszystkie nazwy naraz, po przecinku: { $languages }.
crop-name-question = Jak się nazywa? Język: { $language }.
button-same-name = Też { $name }
crop-name-letters = Nazwa ma od { $least } do { $most } liter i żadnych cyfr. Napisz inną.
crop-name-is-crop = „{ $name }” znaczy już { $crop }. Napisz inną nazwę.
crop-name-is-word = W zamówieniu „{ $name }” nie byłoby nazwą grzyba. Napisz inną.
crop-names-count = { $number ->
    [one] Napisz jedną nazwę, bez przecinków.
    [few] Napisz { $number } nazwy po przecinku albo jedną bez przecinka.
    [many] Napisz { $number } nazw po przecinku albo jedną bez przecinka.
   *[other] Napisz { $number } nazwy po przecinku albo jedną bez przecinka.
}
crop-card-heading = <b>{ $crop }</b>
crop-card-name = { $language }: { $name }
crop-card-blocks = Bloki, moczone na początek
crop-card-bags = Worki, otwierane na początek
crop-card-first-pick = { $days ->
    [one] Pierwszy zbiór po { $days } dniu
    [few] Pierwszy zbiór po { $days } dniach
    [many] Pierwszy zbiór po { $days } dniach
   *[other] Pierwszy zbiór po { $days } dnia
}
crop-card-first-flush = Pierwszy rzut: { $share } suchej masy
crop-card-keeps = { $days ->
    [one] Trzyma się { $days } dzień w 5 °C (41 °F) lub chłodniej
    [few] Trzyma się { $days } dni w 5 °C (41 °F) lub chłodniej
    [many] Trzyma się { $days } dni w 5 °C (41 °F) lub chłodniej
   *[other] Trzyma się { $days } dnia w 5 °C (41 °F) lub chłodniej
}
crop-card-pack = Pakowana co { $weight }
crop-card-cooling = { $hours ->
    [one] { $hours } godzina w chłodni przed pakowaniem
    [few] { $hours } godziny w chłodni przed pakowaniem
    [many] { $hours } godzin w chłodni przed pakowaniem
   *[other] { $hours } godziny w chłodni przed pakowaniem
}
crop-card-price = { $price } za { $weight }
crop-card-no-price = Jeszcze bez ceny
crop-card-resting = Przerwa: żadnych nowych zamówień. Zamówione zostaje.
crop-card-from-file = Te wartości są w pliku konfiguracji; zmień je tam.
crop-card-new = Jeszcze nie dodana. Naciśnij to, co ma być inne, a potem dodaj.
button-crop-add = Dodaj
button-crop-rest = Zrób przerwę
button-crop-again = Przyjmuj zamówienia
button-crop-name = Nazwa: { $language }
button-crop-first-pick = Dni do zbioru
button-crop-first-flush = Pierwszy rzut
button-crop-keeps = Ile dni się trzyma
button-crop-pack = Porcja
button-crop-cooling = Godziny chłodzenia
button-crop-price = Cena
button-crop-no-price = Bez ceny
crop-button-days = { $days ->
    [one] { $days } dzień
    [few] { $days } dni
    [many] { $days } dni
   *[other] { $days } dnia
}
crop-button-hours = { $hours ->
    [one] { $hours } godzina
    [few] { $hours } godziny
    [many] { $hours } godzin
   *[other] { $hours } godziny
}
crop-button-share = { $share }
crop-first-pick-question = Ile dni od początku do pierwszego zbioru?
crop-first-flush-question = Ile waży pierwszy rzut wobec suchego podłoża? 40% to 40 kg ze 100 kg suchego.
crop-keeps-question = Ile dni po zbiorze można jeszcze dostarczyć, w 5 °C (41 °F) lub chłodniej?
crop-pack-question = Co ile się pakuje? Naciśnij lub napisz wagę.
crop-cooling-question = Ile godzin w chłodni przed pakowaniem?
crop-price-question = Ile kosztuje { $weight }? Na przykład <i>12,50</i>.
crop-days-wrong = Napisz dni liczbą całkowitą od { $least } do { $most }, na przykład 10.
crop-hours-wrong = Napisz godziny liczbą całkowitą od { $least } do { $most }, na przykład 12.
crop-share-wrong = Napisz procent od { $least } do { $most }, na przykład 40.
crop-pack-wrong = Napisz wagę od { $least } do { $most }, na przykład <i>250 g</i>.
crop-price-wrong = Napisz cenę za { $weight }, najwyżej { $most }, na przykład <i>12,50</i>.
crop-added = Dodano. Można już zamawiać; partię zaczyna /batch.
crop-changed = Zapisane.
order-resting-crop = Teraz nie uprawiamy: { $crop }. Mamy: { $crops }.
