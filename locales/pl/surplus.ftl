# Co zostało i dokąd trafi.
command-left = Co zostało w chłodni
left-heading = <b>Co zostało</b>
left-nothing = W chłodni nic nie ma.
left-crop = <b>{ $crop }</b>: wolne { $free } z { $there } w chłodni
left-promised = · obiecane: { $weight }
left-offered = · w ofercie lub zarezerwowane: { $weight }
left-given = · dla banku żywności: { $weight }
left-market = · na targ, { $day }: { $what }
left-lot =
    · { $weight }: dobre do: { $day }, { $days ->
        [0] dziś ostatni dzień
        [one] jeszcze { $days } dzień
        [few] jeszcze { $days } dni
        [many] jeszcze { $days } dni
       *[other] jeszcze { $days } dnia
    }
left-past = · { $weight }: dobre było tylko do: { $day }. Nie sprzedawaj i nie oddawaj
left-dried = · po suszeniu będzie około { $weight }; do suszarni do: { $by }
left-best = <b>Najlepiej</b> { $way }
left-beside = · a do tego od razu: { $weight } { $way }
left-worth = { $line }, około { $money }
left-way-offer = · zaproponuj restauracjom; najpóźniej { $by }
left-way-market = · zostaw na targ; najpóźniej { $by }
left-way-give = · oddaj do banku żywności; najpóźniej { $by }
left-changed = Coś się zmieniło, odkąd to czytasz. Teraz najlepsze jest:
way-offer = dla restauracji
way-market = na targ
way-give = dla banku żywności
way-dry = do suszarni
left-as-it-is = Zostaje, jak jest. Wrócisz tu przez /left.
button-offer = Zaoferuj: { $crop }
button-keep = Na targ: { $crop }
button-give = Oddaj: { $crop }
button-dry = Wysusz: { $crop }
button-discard = Wyrzuć: { $crop }
button-to-market = Wyjazd na targ
button-market-back = Powrót z targu
button-leave = Zostaw
button-undo = Cofnij
button-back = Wstecz
button-all-of = Wszystko { $weight }
button-half-of = Połowa { $weight }
button-one-pack = Jedna paczka { $weight }
button-other-amount = Inna ilość
button-no-thanks = Nie, dziękuję
button-look-again = Pokaż jeszcze raz
button-give-back = Oddaj { $weight }
button-collected = Odebrane
button-pick-up = Odbiorę samodzielnie
button-not-collected = Nieodebrane, znów wolne
button-nothing-back = Nic nie wróciło
surplus-more-than-free = Tyle wolnego { crop-of } nie ma: wolne jest { $free }. Nic nie zmieniono.
surplus-more-than-there = W chłodni jest { $there } { crop-of }. Nic nie zmieniono.
surplus-not-a-weight = Nie umiem odczytać tej wagi. Napisz na przykład <i>2 kg boczniaka, 500 g shiitake</i>.
surplus-not-in-cold-room = Według moich zapisów w chłodni nie ma { $what } w dobrym stanie. Najpierw wpisz zbiór, potem naciśnij ponownie.
surplus-dried = Do suszarni idzie { $weight } { crop-of }: około { $dried } suszu.
surplus-discarded = Wyrzucono { $weight } { crop-of }.
surplus-promises-uncovered = Uwaga: brakuje teraz { $weight } { crop-of } na to, co obiecane lub odłożone.
surplus-put-back = Cofnięto: znów leży w chłodni.
market-no-day = W ustawieniach gospodarstwa nie ma dnia targowego, więc nie można nic odłożyć na targ. Zaoferuj, oddaj albo wysusz.
market-does-not-keep = Do targu ({ $day }) nie wytrzyma już nic z wolnego { crop-of }. Zaoferuj, oddaj albo wysusz.
market-keep-question = Ile { crop-of } odłożyć na targ: { $day }? Wolne jest { $free }. Naciśnij lub napisz wagę.
market-kept = Odłożono { $weight } { crop-of } na targ: { $day }.
market-nothing-kept = Na dzisiejszy targ nic nie odłożono.
market-left = Pojechało na targ: { $what }.
market-unsaid = Czy { $what } pojechało na targ? Nikt nie dał znać. Bez odpowiedzi do jutra rana liczy się, że tak.
market-assumed = Nikt nie powiedział, czy { $what } pojechało na targ. Liczy się jako wywiezione i sprzedane (przyjęte). Czy coś wróciło?
button-market-gone = Tak, pojechało
button-market-stayed = Zostało tutaj: { $crop }
lapsed = <b>Po terminie</b>: znika ze wszystkich list i liczy się jako wyrzucone. Prosimy tego nie sprzedawać ani nie oddawać:
lapsed-line = • { $amount }, zbiór { $picked }
market-left-less = Z odłożonego brakuje: { $what }. Obiecane zamówienia są pierwsze, a to, co po terminie, zostaje tutaj.
market-back-question = Co wróciło z targu? Napisz na przykład <i>2 kg boczniaka, 500 g shiitake</i>.
market-back-heavier = Nie może wrócić { $back } { crop-of }: na targ pojechało { $left }. Nic nie zmieniono.
market-back = Znów w chłodni: { $what }. Reszta liczy się jako sprzedana.
market-all-sold = Dobrze: nic nie wróciło, wszystko liczy się jako sprzedane.
market-back-entered = Wpisano na dziś, a nie na dzień: { $day }.
market-back-to-come = Ten dzień dopiero nadejdzie: { $day }. Nic nie wpisano; sprawdź datę albo napisz bez daty, co wróciło.
offer-nobody = Nie dołączyła jeszcze żadna restauracja, więc nie ma kogo zapytać. Zaproś kogoś przez /people.
offer-made =
    Zaoferowano { $what }: { $buyers ->
        [one] { $buyers } restauracja
        [few] { $buyers } restauracje
        [many] { $buyers } restauracji
       *[other] { $buyers } restauracji
    }, do: { $deadline }. Powiem, kto coś weźmie; reszta trafi potem do banku żywności.
offer-left = Zostało nam <b>{ $what }</b>. Kto pierwszy, ten lepszy.
offer-price = { $price } za { $weight }
offer-times = Oferta do: { $deadline }. Odbiór do: { $until }.
offer-all-taken = { $what }: wszystko rozebrane.
offer-closed = { $what }: oferta zakończona.
offer-yours = Twoje: <b>{ $what }</b>. Odbiór do: { $until }.
offer-yours-along = Twoje: <b>{ $what }</b>. Przyjedzie z dostawą: { $day }.
offer-picked-up = W porządku. Odbiór do: { $until }.
offer-packed-already = Samochód jest już załadowany, więc to przyjedzie. Nic się nie zmieniło; zadzwoń, jeśli nie pasuje.
offer-collected = Odebrane: { $what }. Dziękujemy!
offer-declined = W porządku, tym razem nie.
offer-granted = { $what } jest Twoje.
offer-partly = Zostało tylko { $what }. Jest Twoje; oddaj, jeśli to za mało.
offer-too-small = Najmniejsza ilość to { $what }.
offer-gone = Ktoś był szybszy: nic już nie zostało.
offer-too-late = Ta oferta się skończyła. Nic nie wzięto.
offer-weight-question = Ile potrzebujesz? Zostało { $left }. Napisz wagę, na przykład 1 kg.
offer-given-back = Oddano { $what }. Dziękujemy za wiadomość.
offer-not-collected = Nie odebrano { $what }, więc nie jest już odłożone.
offer-closed-before = Ta oferta już się skończyła.
offer-withdrawn = Oferta wycofana. Co wzięto, pozostaje wzięte.
offer-ended = Koniec oferty { $what }: wzięto { $taken }, zostało { $left }.
claim-made = <b>{ $buyer }</b> bierze { $what }, odbiór do: { $until }. W ofercie zostało { $left }.
claim-made-along = <b>{ $buyer }</b> bierze { $what }, jedzie z dostawą: { $day }. W ofercie zostało { $left }.
claim-picked-up = <b>{ $buyer }</b> odbierze { $what } samodzielnie, do: { $until }.
claim-goes-along = { $buyer }: { $what } z oferty jedzie z dostawą: { $day }.
claim-given-back = { $buyer } oddaje { $what }.
claim-collected = { $buyer }: odebrano { $what }.
claim-assumed = { $buyer }: miało zostać odebrane { $what }, nikt nie dał znać, czy tak było. Liczy się jako odebrane (przyjęte).
claim-not-collected = { $buyer }: nie odebrano { $what }. Znów wolne, zobacz /left.
claim-still-here = { $buyer }: nie odebrano jeszcze { $what }. Czy już zabrali?
cold-room-noted = Zapisane: w chłodni jest { $temperature }.
cold-room-said = Chłodnia: { $temperature }, podano { $at }
cold-room-warm = <b>Cieplej niż 5 °C (41 °F)</b>: to, co tam leży, będzie dobre krócej. Ochłódź ją i przestrzegaj lokalnych przepisów o żywności.
cold-room-lot-now = · { $what }: dobre do { $day }, nie do { $before }
cold-room-range = { $temperature } to niemożliwe: w chłodni bywa od { $least } do { $most }. Nic nie zapisano.
cold-room-which-scale = Która z tych temperatur jest w chłodni?
surplus-dried-label = Na etykietę: <i>Suszone grzyby uprawne: { $crop }; nic więcej. Suszone: { $day }. Trzymać w suchym miejscu, ugotować przed jedzeniem.</i> Mieszanka wymienia wszystkie gatunki i każdy inny alergen. Przestrzegaj lokalnych przepisów o żywności.
command-rules = Co robię bez pytania z tym, co zostało
rules-heading = <b>Co robię bez pytania z tym, co zostało</b>
rules-none = Na razie nic: liczę po dostawie, a decyzja jest po waszej stronie.
rules-type = Naciśnij albo napisz na przykład <i>oferuj boczniaki do piątku do południa, potem oddaj</i>.
rule-line = · { $crop }: oferta do: { $weekday } { $time }, potem bank żywności
rule-all-crops = cała reszta
rule-day = { $weekday }
rule-time = { $time }
rule-day-question = Do którego dnia ma trwać oferta ({ $crop }), zanim oddam resztę?
rule-time-question = Do której godziny ({ $weekday }) ma trwać oferta ({ $crop })? Inną godzinę wpisz w całej regule.
rule-set = Robię tak od następnego liczenia.
rule-stopped = Zatrzymane. Co jest w ofercie, w niej zostaje; wycofasz to przez /left.
rule-unread = Nie udało mi się odczytać tej reguły. Nic nie zmieniono. Napisz grzyb, dzień i godzinę.
rule-offered =
    Według reguły: oferta na { $what } dla { $buyers ->
        [one] { $buyers } restauracji
        [few] { $buyers } restauracji
        [many] { $buyers } restauracji
       *[other] { $buyers } restauracji
    } do: { $deadline }; reszta trafi do banku żywności.
rule-gives = Według reguły: { $what } nie da się zaoferować, więc pytam od razu banki żywności.
button-set-rule = Reguła: { $crop }
button-stop-rule = Zatrzymaj: { $crop }
button-stop-it = Zatrzymaj to
left-next = Ponad zamówienia, { $day }: { $crop }, około { $likely } ({ $range })
offer-yielded = Zamówienie wymaga { $what } z oferty: wycofuję to. W ofercie zostaje { $left }.
count-question = Co leży w chłodni? Napisz, ile zważono, na przykład <i>5 kg boczniaka, 1 kg shiitake</i>. To, czego nie wymienisz, zostaje bez zmian.
count-heading = <b>Policzone</b> obok zapisów:
count-more = • { $crop }: policzono { $counted }, w zapisach { $booked }, <b>{ $more } więcej</b>
count-less = • { $crop }: policzono { $counted }, w zapisach { $booked }, <b>brakuje { $less }</b>
count-same = • { $crop }: { $counted }, zgodnie z zapisami
count-why = Co się stało z tym, czego brakuje? To, co jest ponad zapisy, liczy się jako zbiór, którego nikt nie zapisał.
count-unlogged = Czy to zbiór, którego nikt nie zapisał?
count-agrees = Nie ma nic do zmiany.
count-done = Gotowe: w zapisach jest teraz { $amounts }.
button-count = Policz
button-count-picked = Tak, zbiór
button-count-spoiled = Zepsute
button-count-sold = Sprzedane
button-count-given = Oddane
button-count-wrong-pick = Zbiór zapisany za wysoko
button-count-leave = Nic nie zmieniaj
