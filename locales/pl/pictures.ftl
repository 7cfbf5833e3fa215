# Obrazki i kartki do druku: zwykły tekst, oprócz podpisów.

# Obrazek prognozy. Kolumny, potem znaczenie znaków.
picture-forecast-title = Zbiory i zamówienia na najbliższe dostawy
picture-forecast-nothing = Na razie nic nie zaplanowano.
picture-forecast-more-crops =
    { $number ->
        [one] Nie pokazano jeszcze { $number } uprawy.
        [few] Nie pokazano jeszcze { $number } upraw.
       *[other] Nie pokazano jeszcze { $number } upraw.
    }
picture-forecast-asked = zamówione
picture-forecast-promised = obiecane
picture-forecast-likely = możliwy zbiór
picture-forecast-range = { $low } – { $high }
picture-forecast-legend-asked = zamówione przez klientów
picture-forecast-legend-band = zbiór w 8 przypadkach na 10
picture-forecast-legend-promised = obiecane klientom
picture-forecast-legend-median = środek prognozy
picture-forecast-legend-short = pewnie zabraknie: zamówiono więcej niż środek prognozy
picture-forecast-caption = <b>{ $farm }</b>: zbiory i zamówienia
picture-forecast-caption-crop = <b>{ $crop }</b>
picture-forecast-caption-day = { $day }: możliwy zbiór { $range }, zamówione { $asked }, obiecane { $promised }
picture-forecast-caption-short = { $day }: pewnie zabraknie. Możliwy zbiór { $range }, zamówione { $asked }, obiecane { $promised }
picture-forecast-caption-more = Reszta jest na obrazku.

# Tydzień rodziny.
picture-week-title = Tydzień rodziny, od: { $first }
picture-week-nothing = Na razie nic nie zaplanowano.
picture-week-soak = namocz { count-blocks }
picture-week-open = otwórz { count-bags }
picture-week-pick = zbierz około { $weight }
picture-week-deliver = zawieź { $weight }
picture-week-market = na targ { $weight }
picture-week-drop = oddaj { $weight }
picture-week-caption = <b>{ $farm }</b>: najbliższe dni
picture-week-caption-day = <b>{ $day }</b>
picture-week-caption-task = { $crop }: { $task }

# Kartki do druku.
sheet-page = Strona { $page } z { $pages }
sheet-cold = Trzymaj w temperaturze do 5 °C (41 °F) od schłodzenia do przekazania. Przestrzegaj miejscowych przepisów sanitarnych.
sheet-advice = O zasady darowizn i podatków zapytaj miejscowy urząd i doradcę.
sheet-total = Razem
sheet-packing-title = Lista pakowania: { $day }
sheet-packing-lot = zbiór { $lot }
sheet-packing-no-lot = brak w zapisach
sheet-packing-totals = Razem
sheet-packing-nothing = Nie ma nic do spakowania.
sheet-drop-title = Darowizna: { $partner }
sheet-drop-partner = Dla
sheet-drop-address = Adres
sheet-drop-day = Dzień
sheet-drop-window = Godziny
sheet-drop-window-times = od { $from } do { $until }
sheet-drop-goods = Co przywozimy
sheet-drop-weight = Przekazana waga
sheet-drop-temperature = Temperatura przy odbiorze
sheet-drop-receiver = Odebrał(a) (imię i nazwisko)
sheet-drop-signature = Podpis
sheet-drop-time = Dzień i godzina

# Where the harvest went.
picture-went-title = Dokąd poszły zbiory, tydzień po tygodniu
picture-went-nothing = W tych tygodniach nic nie opuściło chłodni.
picture-went-week = Tydzień od { $monday }
picture-went-sold = sprzedano { $weight }
picture-went-offered = oferty { $weight }
picture-went-market = targ { $weight }
picture-went-dried = suszono { $weight }
picture-went-given = oddano { $weight }
picture-went-lost = stracono { $weight }
picture-went-caption = <b>{ $farm }</b>: dokąd poszły zbiory
picture-went-caption-week = <b>{ $monday }</b>: { $parts }

# The year's sheet of what was given.
sheet-cultivated = Tylko grzyby uprawne. Ugotować przed jedzeniem; nie dla osób z alergią na grzyby.
sheet-given-title = Przekazano bankom żywności w roku { $year }
sheet-given-caution = To zapis, nie porada: proszę zapytać doradcę podatkowego. Odliczenia i ochrona darczyńcy zależą od miejscowego prawa.
sheet-given-months = Według banków żywności i miesięcy
sheet-given-meals =
    { $meals ->
        [one] { $meals } posiłek
        [few] { $meals } posiłki
        [many] { $meals } posiłków
       *[other] { $meals } posiłku
    } po 1,2 lb żywności (Feeding America, za USDA)
sheet-given-entries = Wszystkie wpisy
sheet-given-column-value = wartość
sheet-given-correction = { $crop }, korekta
sheet-given-value = Wartość po cenie gospodarstwa
sheet-given-basis = Koszt, jak podaje rodzina
sheet-given-deduction = Według 26 U.S.C. 170(e)(3)(B), przed limitem, jeśli spełniono warunki (proszę zapytać doradcę)
