# Obrazki i kartki do druku: zwykły tekst, oprócz podpisów.

# Obrazek prognozy. Kolumny, potem znaczenie znaków.
forecast-title = Zbiory i zamówienia na najbliższe dostawy
forecast-nothing = Na razie nic nie zaplanowano.
forecast-more-crops =
    { $number ->
        [one] Nie pokazano jeszcze { $number } uprawy.
        [few] Nie pokazano jeszcze { $number } upraw.
       *[other] Nie pokazano jeszcze { $number } upraw.
    }
forecast-asked = zamówione
forecast-promised = obiecane
forecast-likely = możliwy zbiór
forecast-range = { $low } – { $high }
forecast-legend-asked = zamówione przez klientów
forecast-legend-band = zbiór w 8 przypadkach na 10
forecast-legend-promised = obiecane klientom
forecast-legend-median = środek prognozy
forecast-legend-short = pewnie zabraknie: zamówiono więcej niż środek prognozy
forecast-caption = <b>{ $farm }</b>: zbiory i zamówienia
forecast-caption-crop = <b>{ $crop }</b>
forecast-caption-day = { $day }: możliwy zbiór { $low } – { $high }, zamówione { $asked }, obiecane { $promised }
forecast-caption-short = { $day }: pewnie zabraknie. Możliwy zbiór { $low } – { $high }, zamówione { $asked }, obiecane { $promised }
forecast-caption-more = Reszta jest na obrazku.

# Tydzień rodziny.
week-title = Dni rodziny od: { $first }
week-nothing = Na razie nic nie zaplanowano.
week-soak = namocz { count-blocks }
week-open = otwórz { count-bags }
week-pick = zbierz { $weight }
week-deliver = zawieź { $weight }
week-market = na targ { $weight }
week-drop = oddaj { $weight }
week-caption = <b>{ $farm }</b>: najbliższe dni
week-caption-day = <b>{ $day }</b>
week-caption-task = { $crop }: { $task }

# Kartki do druku.
sheet-page = Strona { $page } z { $pages }
sheet-cold = Trzymaj w temperaturze do 5 °C (41 °F) od schłodzenia do przekazania. Przestrzegaj miejscowych przepisów sanitarnych.
sheet-advice = O zasady darowizn i podatków zapytaj miejscowy urząd i doradcę.
sheet-total = Razem
packing-title = Lista pakowania: { $day }
packing-lot = partia { $lot }
packing-totals = Razem
packing-nothing = Nie ma nic do spakowania.
drop-title = Darowizna: { $partner }
drop-partner = Dla
drop-address = Adres
drop-day = Dzień
drop-window = Godziny
drop-window-times = od { $from } do { $until }
drop-goods = Co przywozimy
drop-weight = Przekazana waga
drop-temperature = Temperatura przy odbiorze
drop-receiver = Odebrał(a) (imię i nazwisko)
drop-signature = Podpis
drop-time = Dzień i godzina
