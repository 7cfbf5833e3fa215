count-blocks =
    { $number ->
        [one] { $number } blok
        [few] { $number } bloki
       *[other] { $number } bloków
    }
count-bags =
    { $number ->
        [one] { $number } worek
        [few] { $number } worki
       *[other] { $number } worków
    }
command-shelves = Co stoi na regałach
command-pick = Zapisz zbiór
command-batch = Zacznij partię
button-shelves = Regały
button-new-batch = Nowa partia
button-earlier-page = ← Wstecz
button-later-page = Dalej →
button-pick = Zebrano…
button-pins = Zawiązki dziś
button-last-pick = Koniec rzutu
button-soaked-today = Namoczono dziś
button-opened-today = Otwarto dziś
button-whole-soaked = Namoczono: { $units }
button-whole-opened = Otwarto: { $units }
button-lost = Strata…
button-spent = Zużyta…
batch-name = { $crop }, { $units }, { $room }
batch-label-soaked = { $batch } (namoczono: { $day })
batch-label-opened = { $batch } (otwarto: { $day })
batch-label-waiting = { $batch } (od: { $day })
shelves-heading = <b>Na regałach</b>
shelves-empty = Na regałach nic nie stoi. Zacznij partię przez /batch.
shelves-page = Strona { $page } z { $pages }
shelf-heading = <b>{ $batch }</b>, partia { $place }, rzut { $number } z { $flushes }
shelf-to-soak = Do namoczenia; tu od: { $day }
shelf-to-open = Do otwarcia; tu od: { $day }
shelf-soaked = Namoczono: { $day }
shelf-opened = Otwarto: { $day }
shelf-resting = Odpoczywa od: { $day }
shelf-pins = Zawiązki: { $day }
shelf-picked = Zebrano dotąd: { $weight }
shelf-lost = Strata: { $units }
shelf-spent = Zużyta, zdjęta z regałów.
growing-nothing = Dobrze, nic nie zapisano.
no-batch-of = Na regałach nie ma { crop-of }, więc nic nie zapisano. Zacznij partię przez /batch.
batch-is-spent = { $batch }: ta partia jest zużyta. Nic nie zapisano.
batch-unknown = Nie znam tej partii. Wybierz ją w /shelves.
batch-of-another-crop = { $batch }: to nie jest { $crop }. Nic nie zapisano.
which-batch = Która to partia?
none-to-begin = Wszystkie te partie już namoczono albo otwarto. Zobacz /shelves.
none-for-pins = Żadna z tych partii nie czeka na zawiązki. Napisz najpierw, kiedy ją namoczono albo otwarto.
none-to-pick = Do tego dnia nic nie było namoczone ani otwarte, więc nie ma czego zbierać i nic nie zapisano. Zapisz to najpierw.
none-so-many = W żadnej partii nie ma już tylu sztuk. Nic nie zapisano.
not-soaked = { $batch }: jeszcze nie namoczono. Napisz najpierw, kiedy to było; nic nie zapisano.
not-opened = { $batch }: jeszcze nie otwarto. Napisz najpierw, kiedy to było; nic nie zapisano.
already-soaked = { $batch }: namoczono już wcześniej, { $day }. Nic nie zmieniono.
already-opened = { $batch }: otwarto już wcześniej, { $day }. Nic nie zmieniono.
already-pins = { $batch }: zawiązki są już zapisane, { $day }. Nic nie zmieniono.
already-resting = { $batch }: partia odpoczywa. Napisz najpierw, kiedy znów ruszyła; nic nie zapisano.
day-to-come = Ten dzień dopiero nadejdzie: { $day }. Nic nie zapisano ({ $batch }); sprawdź datę.
before-received = { $batch }: przyszła tego dnia: { $since }. Ten dzień był wcześniej: { $day }. Nic nie zapisano.
before-last-pick = { $batch }: ostatni zbiór poprzedniego rzutu był tego dnia: { $since }. Ten dzień był wcześniej: { $day }. Nic nie zapisano.
before-soaked = { $batch }: namoczono tego dnia: { $since }. Ten dzień był wcześniej: { $day }. Nic nie zapisano.
before-opened = { $batch }: otwarto tego dnia: { $since }. Ten dzień był wcześniej: { $day }. Nic nie zapisano.
whole-batch-soaked = Partię moczy się w całości, a ta ma { $units }: { $batch }. Namoczono wszystko?
whole-batch-opened = Partię otwiera się w całości, a ta ma { $units }: { $batch }. Otwarto wszystko?
done-soaked = Zapisano: namoczono.
done-opened = Zapisano: otwarto.
done-pins = Zapisano: zawiązki.
done-lost = Zapisano stratę: { $units }, { $day }.
done-undone = Cofnięto. Teraz jest tak:
done-last-pick = Koniec rzutu { $number }: razem { $weight }. Partia teraz odpoczywa.
done-last-flush = Koniec rzutu { $number }: razem { $weight }. To był ostatni, więc partia jest zużyta.
done-spent = Zapisano: zużyta.
undo-late = { $batch }: od tego czasu coś się zmieniło, więc nie da się już cofnąć.
flush-undo-late = Od tego czasu coś się w tej partii zmieniło, więc nie da się już cofnąć.
lost-question = { $batch }: ile sztuk stracono? Napisz liczbę albo naciśnij.
lost-too-many = Zostało tylko tyle: { $units }. Nic nie zapisano; sprawdź liczbę.
spent-question = { $batch }: czy partia jest zużyta? Znika z regałów na dobre.
new-batch-crop = Jaki to grzyb?
new-batch-blocks = Ile bloków? Napisz liczbę albo naciśnij.
new-batch-bags = Ile worków? Napisz liczbę albo naciśnij.
new-batch-dry = { $units }. Ile waży sucha słoma albo suche trociny w jednej sztuce? Napisz <i>1 kg</i> albo wagę na mokro z wilgotnością: <i>2,5 kg przy 60 %</i>.
new-batch-dry-range = { $weight } na sucho w jednej sztuce to pomyłka. Napisz wagę od { $least } do { $most }.
new-batch-moisture-range = Napisz wilgotność jedną liczbą od 1 do 95, na przykład <i>2,5 kg przy 60 %</i>.
new-batch-room = { $dry } na sucho w każdej sztuce. W którym pomieszczeniu? Napisz nazwę albo naciśnij.
new-batch-room-name = Napisz nazwę pomieszczenia, długość najwyżej: { $most }. Nic nie zapisano.
batch-started = Zapisano: nowa partia, { $dry } na sucho w każdej sztuce, przyszła dziś.
batch-undone = Cofnięto: { $batch }. Nie ma jej już na regałach.
weight-please = Napisz wagę, na przykład <i>1,8 kg</i> albo <i>4 lb</i>.
pick-where = Co zebrano?
pick-which-batch = Z której partii: { $amount }?
pick-how-much = { $batch }: ile zebrano? Napisz wagę albo naciśnij.
pick-too-little = To za mało. Napisz co najmniej { $least }; nic nie zapisano.
pick-too-heavy = { $batch }: byłoby razem { $total }, a może dać najwyżej { $limit }. Nic nie zapisano; sprawdź wagę.
pick-heavy-question = { $batch }: z tym zbiorem ({ $amount }) rzut waży więcej niż suche podłoże. Czy to się zgadza?
pick-twice-question = { $batch }: { $amount } jest już zapisane na ten dzień. Czy to kolejny zbiór?
done-picked = Zebrano: { $amount } ({ $batch }), { $day }.
done-picked-keeps = W chłodni. Do pakowania od: { $ready }. Dobre do: { $until }.
pick-undone = Cofnięto: { $amount }.
pick-undo-late = To już cofnięto albo część opuściła chłodnię. Nic nie zmieniono.
button-warmth = Temperatura w pomieszczeniu…
warmth-question = { $room }: jaka jest tam temperatura w { $unit }? Napisz liczbę.
warmth-please = Napisz temperaturę, na przykład <i>14 °C</i> lub <i>58 F</i>.
warmth-which-room = { $temperature }: w którym pomieszczeniu?
warmth-which-scale = { $room }: w jakiej skali?
warmth-unknown-room = Żadne pomieszczenie z regałami nie nazywa się { $room }. Nic nie zapisano; o które chodzi?
warmth-range = { $temperature } to nie jest możliwa temperatura pomieszczenia uprawowego. Napisz wartość od { $least } do { $most }; nic nie zapisano.
warmth-done = Zapisano: { $room }, dziś { $temperature }. Prognoza to uwzględnia.
warmth-days =
    { $days ->
        [one] W tej temperaturze { $crop }: około { $days } dnia do pierwszego zbioru.
        [few] W tej temperaturze { $crop }: około { $days } dni do pierwszego zbioru.
       *[other] W tej temperaturze { $crop }: około { $days } dni do pierwszego zbioru.
    }
warmth-too-cold = To za zimno – { $crop } owocuje od { $low } do { $high }: plon będzie późno, jeśli w ogóle.
warmth-too-warm = To za ciepło – { $crop } owocuje od { $low } do { $high }: plon nie przyjdzie wcześniej i może ucierpieć.
button-correct-batch = Popraw…
correct-batch-what = Co poprawić? { $batch }
button-detail-units = Liczba
button-detail-dry = Sucha waga
button-detail-room = Pomieszczenie lub przeniesienie
button-detail-received = Dzień przyjęcia
button-detail-split = Oddziel część
correct-units = { $batch }: ile sztuk, razem ze straconymi?
correct-dry = { $batch }: ile waży sucha słoma albo suche trociny w jednej sztuce? Napisz <i>1 kg</i> albo <i>900 g</i>.
correct-room = { $batch }: w którym pomieszczeniu stoi teraz?
correct-received = { $batch }: którego dnia przyszła?
correct-split = { $batch }: ile sztuk ma być osobną partią?
batch-corrected = Poprawione.
batch-split = { $units }: to teraz osobna partia.
correct-not-possible = To nie zgadza się z tym, co wiadomo o partii: część już stracono, zaczęto ją przed tym dniem albo waga jednej sztuki nie mieści się między { $least } a { $most }. Nic się nie zmieniło.
button-only-these = Tylko { $units }
growing-nothing-yet = Dzięki za sprawdzenie. Nie ma czego zapisać, dopóki nic nie widać.
