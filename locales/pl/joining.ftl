# Dołączanie, zaproszenia i to, jak kto woli czytać.
welcome-keeper = Witaj, { $name }. Od teraz prowadzisz tu <b>{ $farm }</b>. Zaproś rodzinę, restauracje i banki żywności przez /people.
welcome-family = Witaj w <b>{ $farm }</b>, { $name }.
welcome-buyer = Dzień dobry, { $name }. Tu <b>{ $farm }</b>. Napisz, czego potrzebujesz, na przykład <i>2 kg shiitake na czwartek</i>.
welcome-pantry = Dzień dobry, { $name }. Tu <b>{ $farm }</b>. Gdy będziemy mieć grzyby do oddania, zapytamy tutaj.
invitation = Zaproszenie: <b>{ $name }</b>. Przekaż ten link; działa raz, do: { $until }
    { $link }
invitation-used = To zaproszenie zostało już użyte. Poproś gospodarstwo o nowe.
invitation-expired = To zaproszenie wygasło. Poproś gospodarstwo o nowe.
invitation-unknown = To nie jest nasze zaproszenie. Sprawdź link albo poproś gospodarstwo o nowy.
invitation-not-for-keeper = Prowadzisz tu gospodarstwo, więc to zaproszenie nie jest dla Ciebie. Przekaż je dalej: wciąż działa.
people-heading = <b>Ludzie</b>
people-line = { $name }, { $role }
people-buyer = { $name }: { $contacts }
people-buyer-nobody = { $name }: jeszcze nikt nie dołączył
people-invite-question = Kogo zaprosić?
role-keeper = prowadzenie
role-grower = uprawa
role-driver = dostawy
role-buyer = zakupy
role-pantry = bank żywności
button-new-buyer = Nowa restauracja
buyer-name-question = Jak nazywa się restauracja?
name-too-long =
    { $most ->
        [one] Napisz nazwę o długości najwyżej { $most } znaku.
        [few] Napisz nazwę o długości najwyżej { $most } znaków.
        [many] Napisz nazwę o długości najwyżej { $most } znaków.
       *[other] Napisz nazwę o długości najwyżej { $most } znaku.
    }
name-taken = { $name } jest już na liście. Zobacz /people.
remove-question = Usunąć z listy: { $name }? Ta osoba nie będzie już mogła tu pisać.
remove-not-yourself = Nie możesz usunąć z listy siebie.
removed = { $name } nie jest już na liście.
settings-question = Jak wolisz czytać?
units-pounds = funty i uncje
units-kilograms = kg i g
hours-twelve = 2:00 PM
hours-twenty-four = 14:00
group-set = Gotowe: od teraz przypomnienia gospodarstwa przychodzą tutaj.
group-only-in-group = Najpierw dodaj mnie do grupy rodziny, a potem napisz tam /group.
help-keeper = Prowadzisz gospodarstwo. Oto, co możesz zrobić:
help-family = Oto, co możesz zrobić:
help-buyer = Napisz, czego potrzebujesz, na przykład <i>2 kg shiitake i 1 kg boczniaków na czwartek</i>. Możesz też:
help-pantry = Gdy będą dla Was grzyby, zapytamy tutaj. Możesz też:
help-copy = Dotknij linijki, żeby ją skopiować, i wpisz, jak było:
help-copy-line = <code>{ $line }</code>
example-order = { $what }
example-weekly = { $what } co tydzień
example-same = to samo co ostatnio
example-skip = pomiń przyszły tydzień
example-picked = zebraliśmy { $what }
example-soaked = namoczyliśmy 10 bloków
example-lost = straciliśmy 2 bloki
example-handed = oddaliśmy { $what }
command-people = Ludzie i zaproszenia
command-group = Przypomnienia do tej grupy
command-settings = Język, jednostki, godziny
command-help = Co można tu zrobić
button-take-off = Usuń kogoś
take-off-question = Kogo usunąć z listy?
quiet-hours = Cisza od { $from } do { $to }: co może poczekać, przyjdzie później.
quiet-none = Bez ciszy: wszystko przychodzi od razu.
quiet-between = { $from } – { $to }
quiet-question = Kiedy ma być cicho? Można też napisać, na przykład <i>cisza od 22 do 6</i>. Odpowiedzi i to, co nie może czekać, przychodzą zawsze.
button-quiet = Godziny ciszy
button-quiet-none = Bez ciszy

# Własne miejsce każdej osoby.
silent-take = Jeśli nikt nie odpowie na czas, gdy towaru brakuje, dostaniecie tyle, ile jest.
silent-drop = Jeśli nikt nie odpowie na czas, gdy towaru brakuje, ta pozycja wypada z dostawy.
button-silent-take = Bez odpowiedzi: tyle, ile jest
button-silent-drop = Bez odpowiedzi: pomińcie
silent-changed = Nowe ustawienie ({ $name }):
button-new-account = Przenieś na inne konto
new-account = Otwórz ten link z nowego konta. Działa raz, do { $until }; odtąd tylko to konto pisze tu w Twoim imieniu. Nie przekazuj go nikomu:
    { $link }
new-account-done = Witaj ponownie, { $name }. Od teraz piszesz tu z tego konta.
new-account-old-chat = { $name } pisze teraz z innego konta; ten czat nie jest już używany. Jeśli to nie Ty, zadzwoń do gospodarstwa.
new-account-told = { $name } pisze teraz z innego konta.
new-account-taken = To konto jest już na naszej liście. Otwórz link z nowego konta.
button-leave-list = Wypisz mnie
leave-question = Wypisać Cię z listy { $farm }? Bez nowego zaproszenia nie będzie można tu pisać. Zamówienia pozostają w mocy.
leave-done = Nie ma Cię już na liście { $farm }. Do widzenia, { $name }.
leave-last-keeper = Nikt inny nie prowadzi gospodarstwa. Najpierw zaproś kogoś w /people.
contact-joined = { $name } także pisze tu w imieniu { $place }.
contact-left = { $name } nie pisze już tu w imieniu { $place }.
person-left = { $name }: wypisano z listy na własną prośbę.
bot-description = Zamawiaj grzyby w { $farm }: napisz, czego potrzebujesz, a damy znać wcześnie, gdy towaru nie wystarczy. Aby dołączyć, poproś gospodarstwo o link z zaproszeniem.
bot-short-description = Zamówienia, zbiory i dostawy: { $farm }

# Otwarte zaproszenia.
invitations-open = Otwarte zaproszenia:
invitations-heading = <b>Otwarte zaproszenia</b>
invitations-none = Nie ma otwartych zaproszeń.
invitations-more = … i jeszcze { $count }
invitation-line = { $name }, zaprasza { $maker }, do: { $until }
invitation-line-nobody = { $name }, do: { $until }
invitation-line-account = { $name }: przejście na inne konto, do: { $until }
invitation-withdrawn = Wycofane: <b>{ $name }</b>. Ten link już nie działa.
invitation-not-open = To zaproszenie zostało użyte albo wygasło.
invitation-in-private = Link jest w naszym prywatnym czacie.
button-invitations = Otwarte zaproszenia
button-withdraw-invitation = Wycofaj: { $name }, do { $until }
button-people = Ludzie
family-joined = <b>{ $name }</b> jest teraz na liście: { $role }. Zaprasza { $maker }. Jeśli coś się nie zgadza, usuń tę osobę przez /people.
person-removed = { $name }: usunięto z listy. Kto usunął: { $who }.

# Grupa rodziny.
group-named = { $name }: wybrana grupa, do której od teraz przychodzą przypomnienia gospodarstwa.
group-without-keeper = W grupie rodziny nie ma już nikogo, kto prowadzi gospodarstwo, więc nic tam nie wysyłamy. Przypomnienia przychodzą do każdego tutaj. Aby wrócić do grupy, napisz w niej /group.
group-asked-anew = { $name }: tej osoby nie ma już na liście, a to ona wybrała grupę rodziny. Nic tam nie wysyłamy, dopóki nie potwierdzisz. Czy przypomnienia mają nadal tam przychodzić?
button-group-goes-on = Tak, do grupy
group-goes-on = Przypomnienia gospodarstwa przychodzą do grupy.
group-ended = Do tej grupy nic już nie wysyłamy. Przypomnienia przychodzą do każdego tutaj.
group-still-there = { $name }: tej osoby nie ma już na liście, ale nadal jest w grupie rodziny i może ją czytać. Usuń ją z grupy.
