# Banki żywności, dostawy i to, co oddano.
command-drops = Najbliższe dostawy do banków żywności
command-given = Co oddano, z plikiem
command-foodbanks = Banki żywności
banks-heading = <b>Banki żywności</b>
banks-none = Nie ma jeszcze żadnego banku żywności. Dodaj go przyciskiem.
banks-line = { $bank }, { $address }
button-new-bank = Nowy bank żywności
bank-name-question = Jak nazywa się bank żywności?
bank-name-taken = { $bank } już jest na liście. Zobacz /foodbanks.
bank-unknown = Na liście nie ma banku żywności o nazwie { $bank }, więc nic nie zapisano. Zobacz listę lub dodaj go: /foodbanks.
bank-address-question = Jaki adres ma { $bank }?
bank-address-long = Napisz krótszy adres. Najwięcej znaków: { $most }.
bank-minutes-question = Ile minut trwa dojazd?
bank-minutes-wrong = Napisz liczbę minut od 0 do { $most }, na przykład 25.
bank-hours-question = Jakie godziny otwarcia ma { $bank }? Napisz na przykład <i>pt 9:00-12:00, sb 10-13</i>.
hours-not-read = Nie umiem odczytać tych godzin. Napisz dni i godziny, na przykład <i>pt 9:00-12:00, sb 10-13</i>.
hours-cross-midnight = Od { $opens } do { $closes } przechodzi przez północ. Napisz to jako dwa dni, na przykład <i>pt 22-24, sb 0-2</i>. Jeśli chodziło o popołudnie, napisz godziny od 13 do 23.
hours-empty = Początek i koniec to ta sama godzina. Napisz na przykład <i>pt 9:00-12:00</i>.
hours-overlap = Dwa przedziały w jednym dniu zachodzą na siebie. Napisz je jako jeden.
bank-weights-question = Ile najmniej i najwięcej przyjmują naraz? Napisz na przykład <i>2 kg do 30 kg</i>.
bank-weights-wrong = Napisz dwie wagi, najpierw mniejszą, na przykład <i>2 kg do 30 kg</i>.
bank-closed-question = Którego dnia { $bank } nie przyjmuje? Naciśnij lub napisz tak: <i>2026-12-24</i>.
bank-closed-wrong = Napisz przyszłą datę: rok, miesiąc i dzień, na przykład <i>2026-12-24</i>.
bank-card =
    <b>{ $bank }</b>
    { $address }
    dojazd { $minutes ->
        [one] { $minutes } minuta
        [few] { $minutes } minuty
        [many] { $minutes } minut
       *[other] { $minutes } minuty
    }
bank-hours = { $day }: od { $opens } do { $closes }
bank-weights = Przyjmuje naraz od { $least } do { $greatest }
bank-crops = Przyjmuje: { $crops }
bank-cold = Może przechować w temperaturze najwyżej 5 °C (41 °F)
bank-warm = Nie ma chłodni: świeżych grzybów mu nie proponujemy
bank-closed = Nieczynne: { $days }
bank-no-contact = Nikt stamtąd jeszcze nie dołączył: zaproś kogoś
bank-contacts = Kontakty: { $names }
button-invite-contact = Zaproś kontakt
button-address = Adres
button-minutes = Minuty
button-hours = Godziny
button-weights = Wagi
button-closed-days = Dni nieczynne
button-this-crop = Przyjmuje: { $crop }
button-not-this-crop = Bez: { $crop }
button-cold-store = Ma chłodnię
button-no-cold-store = Bez chłodni
button-closed-on = Nieczynne { $day }
button-open-on = Czynne { $day }
drop-looking = Szukam banku żywności, który przyjmie { $what }.
drop-asked =
    Zapytano <b>{ $bank }</b>, czy przyjmie { $what }: { $day }, od { $from } do { $to }.
    Odpowiedź do: { $answer_by }; potem pytamy następny.
drop-call-them =
    <b>{ $bank }</b> może przyjąć { $what }: { $day }, od { $from } do { $to }.
    Nikogo stamtąd nie ma w tym czacie: proszę zadzwonić, termin: { $answer_by }.
button-agreed-by-phone = Zgodzili się telefonicznie
button-call-off = Odwołaj
button-again = Zaproponuj ponownie
button-show = Otwórz
gift-proposed =
    <b>{ $farm } ma coś dla { $bank }</b>: { $what }.
    Przywieziemy: { $day }, od { $from } do { $to }.
    Prosimy o odpowiedź do: { $answer_by }.
gift-caution = Tylko świeże grzyby uprawne, przechowywane w temperaturze najwyżej 5 °C (41 °F). Prosimy trzymać w chłodzie i przestrzegać lokalnych przepisów o żywności.
button-agree = Zgoda
button-agree-first = Zgoda na pierwszy termin
button-other-time = Inny termin
button-not-this-time = Tym razem nie
button-window = { $day }, { $from } do { $to }
gift-other-times = Kiedy przywieźć { $what }? Pierwszy termin: { $day }, od { $from } do { $to }.
gift-no-other-time = Nie ma innego terminu, w którym grzyby są jeszcze dobre, a u Państwa jest czynne.
gift-agreed = Umówione: { $what }, { $day }, od { $from } do { $to }. Dziękujemy!
gift-declined = W porządku, tym razem nie. Dziękujemy za odpowiedź.
gift-passed-on = Odpowiedź nie jest już potrzebna: { $what } trafi do kogoś innego.
gift-called-off = Przykro nam: { $farm } nie może przywieźć { $what } ({ $day }).
gift-thanks = Dziękujemy za przyjęcie { $what }: około { $meals ->
        [one] { $meals } posiłku
        [few] { $meals } posiłków
        [many] { $meals } posiłków
       *[other] { $meals } posiłku
    }. { $farm }
drop-agreed = { $bank } zgadza się: { $what }, { $day }, od { $from } do { $to }.
drop-agreed-keeper = { $bank } zgadza się: { $what }, { $day }, od { $from } do { $to }. Kierowca dostanie przypomnienie poprzedniego wieczoru i przed wyjazdem.
drop-agreed-driver = Dostawa dla Ciebie: { $what }, { $bank }, { $day }, od { $from } do { $to }. Przypomnę poprzedniego wieczoru i przed wyjazdem.
drop-is-agreed = To już umówione: { $what }, { $bank }, { $day }, od { $from } do { $to }.
drop-is-over = Ta dostawa ({ $bank }) już się odbyła i jest wpisana. Nic nie zmieniono.
drop-is-off = Ta dostawa ({ $bank }) już nie jest aktualna. Nic nie zmieniono.
drop-declined = { $bank } nie może tym razem przyjąć { $what }. Pytamy następny bank żywności.
drop-unanswered = { $bank } nie odpowiada w sprawie { $what }. Pytamy następny bank żywności.
drop-called-off = Odwołano dostawę { $what }, { $bank }, { $day }. Grzyby są znów wolne: znajdź dla nich inne miejsce w /left.
drop-nobody = Żaden bank żywności nie przyjmie { $what } na czas. Zaoferuj, wysusz albo zadzwoń: /left pokazuje, co jest.
left-out-asked = · { $bank }: już zapytano
left-out-warm = · { $bank }: nie ma chłodni
left-out-crops = · { $bank }: tego nie przyjmuje
left-out-too-little = · { $bank }: przyjmuje od { $least }
left-out-closed = · { $bank }: nie będzie czynne, zanim grzyby się zepsują
drop-tomorrow = <b>Dostawa do banku żywności</b>, { $day }: { $what }, { $bank }, od { $from } do { $to }. Wyjazd o { $leave_at }.
drop-leave = <b>Czas się szykować</b>: { $what }, { $bank }, od { $from } do { $to }. Wyjazd o { $leave_at }.
drop-was-it = <b>Czy przekazano?</b> { $what }, { $bank }, { $day }.
drop-not-heard = Nikt jeszcze nie powiedział, czy { $what } trafiło do { $bank }.
drop-assumed = Nikt nie dał znać, jak poszło: { $what }, { $bank }. Liczy się jako przekazane zgodnie z planem (przyjęte) i tak jest oznaczone w rejestrze darów.
drop-lapsed = Nikt nie powiedział, czy { $what } trafiło do { $bank }, a w chłodni nic z tego nie ma. Liczy się jako odwołane.
drop-where =
    { $address }, dojazd { $minutes ->
        [one] { $minutes } minuta
        [few] { $minutes } minuty
        [many] { $minutes } minut
       *[other] { $minutes } minuty
    }
drop-caution = W drodze trzymaj w temperaturze najwyżej 5 °C (41 °F); przestrzegaj lokalnych przepisów o żywności.
button-handed-over = Przekazane zgodnie z planem
button-drop-other-weight = Inna waga
button-could-not = Nie udało się
drop-weight-question = Ile przekazano ({ $bank })? Umówione: { $what }. Napisz wagę, dla każdego gatunku osobno.
drop-nothing-handed = Nic nie przekazano? Naciśnij wtedy <i>Nie udało się</i> przy dostawie, zobacz /drops. Nic nie wpisano.
drop-more-than-agreed = To więcej, niż umówiono ({ $agreed }). Napisz, ile przekazano; nic nie wpisano.
drop-handed-over = Przekazano ({ $bank }): { $what }, około { $meals ->
        [one] { $meals } posiłku
        [few] { $meals } posiłków
        [many] { $meals } posiłków
       *[other] { $meals } posiłku
    }.
drop-temperature-question = Jeśli zmierzono temperaturę, napisz ją, na przykład <i>3 °C</i> lub <i>38 F</i>.
drop-cold-enough = Zapisano: wystarczająco zimno.
drop-too-warm = Zapisano. To cieplej niż 5 °C (41 °F): powiedz o tym w banku żywności i przestrzegaj lokalnych przepisów.
drops-heading = <b>Dostawy do banków żywności</b>
drops-none = Żadnej nie ma w planie.
drops-file = Najbliższe dostawy jako tabela
drops-column-from = od
drops-column-until = do
drops-column-address = adres
drops-column-grams = g
drops-column-agreed = umówione
drop-agreed-line = Umówione: { $what }, { $bank }, { $day }, od { $from } do { $to }
drop-proposed-line = Zapytano: { $what }, { $bank }, { $day }, od { $from } do { $to }
drop-past-line = Oddano: { $weight }, { $bank }, { $day }
drop-past-line-assumed = Oddano (przyjęte): { $weight }, { $bank }, { $day }
handed-which-question = Co zostało przekazane? Nic jeszcze nie zapisano.
button-the-run = Rozwożenie zamówień
button-show-drop = { $bank }, { $day }
given-nothing = Nic jeszcze nie oddano.
given-heading = <b>Co oddano</b>
given-line =
    { $bank }, { $month }: { $weight }, { $meals ->
        [one] { $meals } posiłek
        [few] { $meals } posiłki
        [many] { $meals } posiłków
       *[other] { $meals } posiłku
    }
given-total =
    Razem: <b>{ $weight }</b>, { $meals ->
        [one] { $meals } posiłek
        [few] { $meals } posiłki
        [many] { $meals } posiłków
       *[other] { $meals } posiłku
    }
given-assumed = Z tego przyjęte, nikt nie potwierdził: { $weight }
given-meal-source = Posiłek liczymy jako 1,2 lb żywności (Feeding America za USDA).
given-caption = Wszystkie wpisy. To zapis, nie porada: zapytaj doradcę podatkowego; ochrona darczyńców i odliczenia zależą od lokalnego prawa.
given-file = oddane
given-column-day = data
given-column-bank = bank żywności
given-column-crop = gatunek
given-column-kilograms = kg
given-column-pounds = lb
given-column-value = wartość po cenie gospodarstwa
button-remove-bank = Usuń z listy
bank-remove-question = Usunąć z listy { $bank } i kontakty? To, co oddano, pozostaje zapisane.
bank-removed = { $bank }: usunięto z listy.
bank-has-drops = Dostawa do { $bank } jest jeszcze w planie: najpierw ją odwołaj, zobacz /drops.
drop-undone = <b>Cofnięto</b>: nie przekazano jeszcze { $what }, { $bank }. Ile przekazano?
gift-corrected = Poprawka: { $what } nie jest jeszcze wpisane jako przekazane. Wpiszemy to ponownie.
button-regular = Stała dostawa
button-regular-at = { $rhythm }, { $at }
button-regular-not-on = { $bank }: nie { $day }
button-regular-stop = Zakończ { $bank }
regular-question = Kiedy { $bank } ma stale dostawać to, co wolne? Naciśnij albo napisz na przykład <i>co sobotę 14:00 do { $bank }</i>.
regular-line = Stała dostawa, { $bank }: { $rhythm } o { $at }, następna: { $day }
regular-line-no-next = Stała dostawa, { $bank }: { $rhythm } o { $at }, żaden najbliższy dzień nie pasuje
regular-asked-line = Zapytano o stałą dostawę, { $bank }: { $rhythm } o { $at }
regular-not-open = { $bank }: wtedy nieczynne ({ $rhythm } o { $at }). Nic nie zmieniono; godziny zobaczysz w /foodbanks po naciśnięciu nazwy.
regular-no-date = { $bank } potrzebuje najpierw godzin i dnia tygodnia. Napisz na przykład <i>co sobotę 14:00 do { $bank }</i>.
regular-exists = { $bank } ma już stałą dostawę. Najpierw zakończ tamtą.
regular-warm = { $bank } nie ma chłodni, więc nie proponujemy świeżych grzybów.
regular-asked = Zapytano <b>{ $bank }</b>, czy chcą to, co wolne: { $rhythm } o { $at }, od: { $day }.
regular-call-them =
    <b>{ $bank }</b> może dostawać to, co wolne: { $rhythm } o { $at }, od: { $day }.
    Nikogo stamtąd nie ma w czacie: prosimy zadzwonić.
gift-regular-proposed =
    <b>{ $farm } chce przywozić do { $bank } to, co zostaje</b>: { $rhythm } o { $at }, od { $least } do { $greatest }, od: { $day }.
    Wystarczy jedna zgoda. Dzień wcześniej piszemy, co przyjedzie; czasem nie będzie nic.
gift-regular-agreed = Umówione: { $rhythm } o { $at }, od: { $day }. W /drops można opuścić termin albo zakończyć. Dziękujemy!
regular-agreed = { $bank } zgadza się na stałą dostawę: { $rhythm } o { $at }, od: { $day }. Dzień wcześniej wypełniam ją tym, co wolne, nigdy tym, co obiecane.
gift-regular-declined = W porządku, bez stałej dostawy. Dziękujemy za odpowiedź.
regular-declined = { $bank } nie chce stałej dostawy ({ $rhythm }).
regular-stop-question = Zakończyć stałą dostawę do { $bank } ({ $rhythm })?
regular-stopped = Stała dostawa do { $bank } ({ $rhythm }) jest zakończona. Umówiona już dostawa zostaje, zobacz /drops.
regular-not-on = Bez stałej dostawy do { $bank }: { $day }.
regular-on-again = Stała dostawa do { $bank } znów aktualna: { $day }.
regular-filled = Stała dostawa, { $bank }: { $what }, { $day }, od { $from } do { $to }. Kierowca dostanie przypomnienie poprzedniego wieczoru i przed wyjazdem.
gift-regular-comes = <b>{ $farm } przywozi do { $bank }</b> { $what }: { $day }, od { $from } do { $to }.
regular-more = Więcej dla { $bank }, { $day }: teraz { $what }.
regular-nothing = Nic nie jest wolne dla { $bank }: stałej dostawy nie będzie ({ $day }).
regular-too-little = Wolne jest tylko { $free } dla { $bank }, a przyjmują od { $least }: stałej dostawy nie będzie ({ $day }).
gift-regular-nothing = { $farm } nic nie przywiezie ({ $day }): nic nie zostało. Do następnego razu!
regular-closed = Bez stałej dostawy do { $bank }, { $day }: jest nieczynne albo nikt nie jedzie. To, co wolne, trafi do następnego banku żywności.
regular-full = Bez stałej dostawy do { $bank }, { $day }: nie ma tam miejsca. To, co wolne, trafi do następnego banku żywności.
button-full = W jakiś dzień nie mamy miejsca
button-full-on = Bez miejsca { $day }
button-not-full-on = Jest miejsce { $day }
full-question = W który dzień { $bank } nic nie przyjmie?
bank-full = Bez miejsca: { $days }
bank-need = Pytane najpierw: większa potrzeba
button-need-greater = Większa potrzeba
button-need-as-others = Potrzeba jak u innych
left-out-full = · { $bank }: nie ma miejsca
button-papers = Kalendarz i karta
drop-calendar = { $bank }, { $day }: do kalendarza
drop-sheet = { $bank }, { $day }: karta do wydruku i wypełnienia na miejscu
drop-event = Dostawa do banku żywności: { $bank }
drop-event-text = { $what }, { $bank }, od { $from } do { $to }. Wyjazd o { $leave_at }.
given-caution = To zapis, nie porada: zapytaj doradcę podatkowego. Co obowiązuje, zależy od miejscowego prawa.
button-year-sheet = { $year } do druku
button-year-table = { $year } w tabelach
button-given-correct = Popraw wpis
button-given-correct-drop = { $bank }, { $day }: { $weight }
given-year-sheet = Co przekazano w roku { $year }
given-year-months = Co przekazano w roku { $year }, według banków żywności i miesięcy
given-year-entries = Co przekazano w roku { $year }, wszystkie wpisy
given-column-year-kilograms = kg w roku
given-column-meals = posiłki
given-column-basis = koszt
given-column-correction = korekta
given-column-assumed = przyjęte
given-correct-which = Którą dostawę wpisano źle?
given-correct-question = Ile naprawdę przekazano ({ $bank }, { $day })? Wpisano: { $what }. Napisz wagę, dla każdego gatunku osobno.
given-correct-no-crop = W tej dostawie do { $bank } nie było tego gatunku: { $crop }. Nic nie zmieniono.
given-corrected = Poprawiono: { $bank }, { $day }: { $what }. Wcześniejsze wpisy zostają.
gift-corrected-weight = Korekta: { $day } dostarczono { $what }.
gift-cancel-question = Odwołać dostawę: { $what }, { $day }, { $from }–{ $to }? Tego nie da się cofnąć.
button-cancel-gift = Tak, odwołać
