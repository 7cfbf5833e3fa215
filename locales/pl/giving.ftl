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
gift-passed-on = Odpowiedź nie jest już potrzebna: { $what } trafi do kogo innego.
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
drop-called-off = Odwołano dostawę { $what }, { $bank }, { $day }. Grzyby są znów wolne, zobacz /left.
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
