picking-heading = <b>Do zebrania dziś wieczorem</b> na { $day }
picking-line = { $crop }: obiecane { $promised }, gotowe { $ready }, <b>do zebrania jeszcze { $pick }</b>
picking-line-ready = { $crop }: obiecane { $promised }, gotowe { $ready }, nic do zebrania
cold-chain = Chłodzić przez noc i trzymać w 5 °C (41 °F) lub niżej. Przestrzegaj lokalnych przepisów.
cold-chain-road = W drodze trzymać w 5 °C (41 °F) lub niżej. Przestrzegaj lokalnych przepisów.
packing-heading = <b>Lista pakowania</b>, { $day }
packing-row = <b>{ $buyer }</b>: { $amounts }
packing-total = Razem { $amount }. Bierz najpierw:
packing-lot = • zbiór { $picked }: { $weight }
packing-no-lot = • { $weight } nie ma w zapisach: zważ i zapisz, co zebrano
packing-file = Lista pakowania jako tabela, { $day }
packing-sheet-file = Lista pakowania do druku, { $day }
button-print = Do druku
button-table = Jako tabela
packing-column-buyer = restauracja
packing-column-crop = gatunek
packing-column-grams = g
packing-column-lot = zebrano dnia
packing-none = Nic nie czeka na pakowanie ani dostawę.
packing-packed = <b>{ $day }</b>: wszystko spakowane według listy, zgłasza { $name }. Można ruszać.
packing-packed-already = <b>{ $day }</b>: to jest już spakowane. Wagę można jeszcze zmienić w czasie rozwożenia: /run
packing-assumed = Nikt nie dał znać, że spakowane. Samochód teraz rusza, więc liczy się jako spakowane według listy.
packing-whose = U kogo waga jest inna?
packing-which = { $buyer }: która pozycja jest inna?
packing-weight-question = { $buyer }, { $crop }: ile spakowano? Napisz wagę, na przykład <i>2,4 kg</i> albo <i>800 g</i>.
packing-weight-unread = Napisz wagę z jednostką, na przykład <i>2,4 kg</i> albo <i>800 g</i>.
packing-weight-too-much = W zapisach jest na to najwyżej { $most } { crop-of }. Najpierw zapisz zbiór albo podaj mniej.
packing-cut = <b>{ $day }</b>: w chłodni jest mniej, niż obiecano. Podzielone sprawiedliwie, każda restauracja dostaje wiadomość:
packing-cut-line = { $buyer }: { $crop } { $before } → <b>{ $now }</b>
button-all-packed = Spakowane według listy
button-other-weights = Inne wagi
button-back-to-list = Wróć
run-heading = <b>Rozwożenie</b>, { $day }
run-row = • { $buyer }: { $amounts }
run-row-done = ✓ { $buyer }: { $amounts }
run-done = <b>{ $day }</b>: wszystko dostarczone. Dziękujemy.
run-row-assumed = ≈ { $buyer }: { $amounts } (przyjęte)
run-assumed = <b>{ $day }</b>: nikt nie dał znać, jak poszło rozwożenie, więc liczy się jako dostarczone tak, jak spakowano (≈ przyjęte). Było inaczej?
run-unsaid = <b>{ $day }</b>: czy rozwożenie już skończone? Nikt tego nie odhaczył. Termin: { $at }; potem liczy się jako dostarczone tak, jak spakowano.
run-unsaid-day-before = <b>{ $day }</b>: nikt nie dał znać, jak poszło rozwożenie. Termin: { $at }; potem liczy się jako dostarczone tak, jak spakowano.
run-over = <b>{ $day }</b>: to rozwożenie już się skończyło, nic się nie zmieniło.
run-not-yet = <b>{ $day }</b>: na to jeszcze za wcześnie, nic się nie zmieniło.
run-not-on-the-books = Nie zapisano { $amount }: tyle brakuje w zapisach chłodni. Zapisz zbiór, potem popraw wagę.
run-weight-question = { $buyer }, { $crop }: ile dostarczono? Napisz wagę, na przykład <i>2,4 kg</i> albo <i>800 g</i>.
button-delivered = Dostarczone: { $buyer }
button-other-weight = Inna waga: { $buyer }
button-nothing = Nic
button-correct-weight = Popraw wagę
button-all-delivered = Wszystko dostarczone
button-run-of = Rozwożenie { $day }
command-packing = Lista pakowania
command-run = Rozwożenie
road-late-told = Powiadomiono: { $buyers }.
road-nobody-told = { $buyer } i gospodarstwo wiedzą, że nikt nie otwiera. Ten adres zostaje na trasie.
road-late = Dostawa będzie dziś trochę później niż zwykle. Jesteśmy w drodze.
road-late-minutes = { $minutes ->
    [one] Dostawa będzie dziś { $minutes } minutę później. Jesteśmy w drodze.
    [few] Dostawa będzie dziś { $minutes } minuty później. Jesteśmy w drodze.
    [many] Dostawa będzie dziś { $minutes } minut później. Jesteśmy w drodze.
   *[other] Dostawa będzie dziś { $minutes } minuty później. Jesteśmy w drodze.
}
road-late-farm = Spóźnienie: { $buyer }. Już wiedzą.
road-late-minutes-farm = { $minutes ->
    [one] { $buyer }: { $minutes } minuta spóźnienia. Już wiedzą.
    [few] { $buyer }: { $minutes } minuty spóźnienia. Już wiedzą.
    [many] { $buyer }: { $minutes } minut spóźnienia. Już wiedzą.
   *[other] { $buyer }: { $minutes } minuty spóźnienia. Już wiedzą.
}
road-nobody = Jesteśmy pod drzwiami z grzybami i nikt nie otwiera. Czy ktoś może wyjść?
road-nobody-farm = { $buyer }: nikt nie otwiera. Napisaliśmy do nich.
