# Zamówienia na jedną dostawę, zamówienia stałe, co się szykuje.
command-order = Zamówienie na najbliższą dostawę
command-standing = Zamówienia stałe
command-orders = Najbliższe dostawy

order-day = <b>{ $day }</b>
order-line-once = { $amount }
order-line-standing = { $amount } (zamówienie stałe)
order-line-changed = { $amount } (zamówienie stałe, zwykle { $usual })
order-nothing = Nic nie zamówiono.
order-standing-rests = Tego dnia zamówienia stałe są wstrzymane.
order-closes = Koniec przyjmowania zamówień: { $until }.
order-done = Gotowe. Teraz jest tak:
order-undone = Cofnięte. Teraz jest tak:
order-as-it-was = Tak już było:
order-left = Nic się nie zmieniło:
order-changed-meanwhile = W międzyczasie coś się zmieniło, więc tego nie ruszam. Teraz:
order-told = Zmiana w zamówieniu ({ $name }):
order-told-undone = Ostatnia zmiana została cofnięta ({ $name }):

order-too-much = { $crop }: jedna pozycja to najwyżej { $greatest }. Nic się nie zmieniło.
order-too-little = { $crop }: najmniejsze opakowanie to { $smallest }. Nic się nie zmieniło.
order-unknown-crop = Nie uprawiamy: { $crop }. Mamy: { $crops }.
order-day-past = Ten dzień już minął: { $day }.
order-day-far = To zbyt odległy termin: { $day }. Przyjmujemy zamówienia na najbliższy rok.
order-day-closed = Zamówienia są już zamknięte: { $day }.
order-day-none = Tego dnia nie ma dostawy: { $day }.
order-still-possible = Można jeszcze zamówić na: { $day }. Koniec przyjmowania: { $until }.
order-no-delivery = Na razie nie ma zaplanowanych dostaw. Zapytaj w gospodarstwie.
order-which-day = Na którą dostawę?
order-no-last-time = Nie ma wcześniejszego zamówienia do powtórzenia. Napisz, czego potrzebujesz, na przykład <i>2 kg shiitake</i>.
order-nothing-to-skip = Nie było czego wykreślać:

order-understood = Rozumiem: { $amounts }, { $day }.
order-understood-change = Rozumiem: razem { $amounts }, { $day }.
order-right-question = Zgadza się?
order-beside-question = Zamówienie stałe przewiduje już na ten dzień: { $standing }. Czy { $asked } ma być zamiast tego, czy dodatkowo?
order-edit-day = Na { $day }:
order-edit-line = { $amount } (teraz { $was })
order-edit-off = Odpada: { $amount }
order-edit-none = Bez pozycji: { $crop }
order-edit-standing = Stałe zamówienia:
order-make-which = { $weight }: których, na { $day }?
order-skip-question = Wykreślić z zamówienia { $amounts }? Dostawa: { $day }.
order-withdraw-question = Wycofać { $amounts }? Dostawa: { $day }. Zamówienia stałe zostają.
order-undo-nothing = Nie ma zmiany do cofnięcia.
order-undo-overtaken = Potem była już inna zmiana, więc wszystko zostaje jak jest. Zobacz /orders.
order-undo-closed = Zamówienia zostały już zamknięte i nie da się tego tu cofnąć. Napisz do gospodarstwa.

order-button-less = − { $crop }
order-button-more = + { $crop }
order-button-same = To samo co ostatnio
order-button-nothing = Tym razem nic
order-button-other-day = Inny termin
order-button-standing = Zamówienia stałe
order-button-undo = Cofnij
order-button-that-day = Na { $day }
order-button-right = Tak, zgadza się
order-button-mend = Nie, zmień
order-button-in-place = Zamiast tego
order-button-on-top = Dodatkowo
order-button-leave = Zostaw, jak jest
order-button-change-day = Zmień: { $day }
order-button-sooner = ‹ Wcześniej
order-button-later = Później ›
order-button-history = Co już było
order-button-coming = Najbliższe dostawy

order-award = { $crop }: zamówiono { $asked }, obiecano { $promised }
order-award-delivered = { $crop }: zamówiono { $asked }, obiecano { $promised }, dostarczono { $delivered }
order-along = Dodatkowo, z oferty: { $what }
order-no-history = Nie było jeszcze dostawy.
order-type-weight = Napisz wagę z jednostką, na przykład <i>2,5 kg</i> albo <i>750 g</i>.
order-weight-unread = Potrzebna jest liczba z jednostką, na przykład <i>2,5 kg</i> albo <i>750 g</i>. Nic się nie zmieniło.

standing-heading = <b>Zamówienia stałe</b>
standing-none = Jeszcze żadnych.
standing-line = <b>{ $amount }</b>, { $rhythm }
standing-every-week = co tydzień: { $days }
standing-every-second-week = co dwa tygodnie: { $days }
standing-every-weeks =
    { $weeks ->
        [one] co { $weeks } tydzień: { $days }
        [few] co { $weeks } tygodnie: { $days }
        [many] co { $weeks } tygodni: { $days }
       *[other] co { $weeks } tygodnia: { $days }
    }
standing-own-dates = we własnych terminach
standing-next = Najbliższa dostawa: { $day }
standing-no-next = Nie ma dalszych terminów.
standing-rests = Wstrzymane do odwołania.
standing-rests-until = Wstrzymane do: { $day }.
standing-changed = { $day }: { $weight }, tylko tym razem
standing-no-delivery = { $day }: nie ma dostawy, więc nic nie jest zamówione. Inny dzień: /order.
standing-until = Ostatni dzień: { $day }
standing-unreadable = Nie da się odczytać zamówienia stałego ({ $crop }), więc nic się z niego nie zamawia. Gospodarstwo już o tym wie. Możesz je zakończyć i złożyć nowe w /standing.
standing-unreadable-family = Nie da się odczytać z bazy zamówienia stałego: { $buyer }, { $crop }. Nic się z niego nie zamawia. Restauracja też to widzi. <code>pinset check</code> je wskaże.

standing-understood = Rozumiem: { $amounts }, { $rhythm }, pierwszy raz: { $day }.
standing-replaces = Od tego dnia zastępuje: { $amounts }.
standing-weekdays = Dostarczamy tylko w te dni: { $days }.
standing-weeks-limit =
    { $most ->
        [one] Odstęp może wynosić najwyżej { $most } tydzień.
        [few] Odstęp może wynosić od 1 do { $most } tygodni.
        [many] Odstęp może wynosić od 1 do { $most } tygodni.
       *[other] Odstęp może wynosić od 1 do { $most } tygodnia.
    }
standing-until-early = Skończyłoby się przed pierwszą dostawą. Nic się nie zmieniło.
standing-which-weekday = W który dzień?
standing-which-crop = Jakie grzyby?
standing-which-weight = Ile { crop-of } za każdym razem?
standing-how-often = { $amount }, jak często?
standing-until-when = Przez jakiś czas bez stałych dostaw. Kiedy mają ruszyć znowu?
standing-pause-early = Przerwa do dnia { $day } niczego nie pominie: najbliższa dostawa, którą można jeszcze zmienić, to { $next }.
standing-pause-question = Wstrzymać wszystkie zamówienia stałe? Od: { $from }, znowu od: { $until }.
standing-pause-open-question = Wstrzymać wszystkie zamówienia stałe do odwołania? Od: { $from }.
standing-end-question = Zakończyć zamówienie stałe: { $amounts }?
standing-not-there = Nie ma takiego zamówienia stałego:
standing-file = Stałe dostawy na najbliższe pół roku, do kalendarza.
standing-file-empty = Nie ma nadchodzącej stałej dostawy, więc nie ma czego wpisać do kalendarza.
standing-file-event = { $farm }: { $amounts }

standing-button-new = Nowe zamówienie stałe
standing-button-pause = Wstrzymaj
standing-button-resume = Wznów
standing-button-file = Plik do kalendarza
standing-button-end = Zakończ: { $crop }
standing-button-other-weight = Inna waga
standing-button-skip = Pomiń { $day }
standing-button-one-date = Zmień tylko { $day }
standing-button-weekly = Co tydzień
standing-button-second = Co dwa tygodnie
standing-button-every-delivery = W każdy dzień dostaw
standing-button-back = Znowu od { $day }
standing-button-open-end = Do odwołania
