# Język: jego nazwa i ustawienia CLDR dla liczb i dat.
language-name = Polski
language-formats = pl

# Zapis wartości. Stoją wewnątrz innych wiadomości, więc bez znaczników.
format-between = od { $low } do { $high }
format-day-time = { $day }, godz. { $time }
format-percent = { $number }%
format-money =
    { $currency ->
        [PLN] { $amount } zł
        [EUR] { $amount } €
       *[other] { $amount } { $currency }
    }

day-yesterday = wczoraj
day-today = dziś
day-tomorrow = jutro

# Ktoś, kogo gospodarstwo nie zna.
stranger = Dzień dobry! To czat zamówień gospodarstwa { $farm }. Aby dołączyć, poproś gospodarstwo o link z zaproszeniem.
stranger-too-often = Zbyt wiele prób. Spróbuj ponownie za godzinę albo poproś gospodarstwo o link z zaproszeniem.
too-much-at-once = Ponad { $most } wiadomości w ciągu minuty: przez minutę niczego nie czytam. Ta i następne nie zostały wykonane, wszystkie wcześniejsze tak. Sprawdź, co jest zapisane, a potem wyślij resztę jeszcze raz.
unknown-command = Nie znam tego polecenia. Wyślij /help, aby zobaczyć, co potrafię.
not-for-your-role = To zadanie nie należy do Twojej roli. Jeśli powinno, zapytaj w gospodarstwie.
stale-button = Ten przycisk jest już nieaktualny. Użyj mojej najnowszej wiadomości.
went-wrong = Coś poszło nie tak po naszej stronie i nic nie zostało zmienione. Spróbuj ponownie za minutę.

button-yes = Tak
button-no = Nie
button-settings = Język i jednostki
button-help = Pomoc
not-understood = Nie rozumiem. Wyślij /help, żeby zobaczyć, co można napisać.
timetable-missed = Program nie działał ({ $at }), więc tego nie zrobiono: { $job }. Proszę zająć się tym samemu.
timetable-given-up = To nie udawało się, aż zrobiło się za późno ({ $at }): { $job }. Proszę zająć się tym samemu.
timetable-aside = To ciągle się nie udaje, więc na razie odkładam: { $job } ({ $at }). Wszystko inne działa dalej, a tego próbuję co sześć godzin. Kto opiekuje się programem, znajdzie powód poleceniem „pinset check”.
job-name = { $job ->
    [cutoff] zamknięcie zamówień
    [picking] przypomnienie o zbiorze
    [packing] lista pakowania
    [count] liczenie tego, co zostało
    [morning] poranna wiadomość
    [tidying] porządkowanie danych
    [early_warning] sprawdzenie, czy czegoś nie zabraknie
    [answers_end] zamknięcie czasu na odpowiedź
    [pack_assume] uznawanie za spakowane
    [run_ask] pytanie, jak poszło rozwożenie
    [run_assume] uznawanie rozwożenia za dostarczone
    [offer_wave] oferta dla kolejnych restauracji
    [offer_end] zakończenie oferty
    [collect_end] pytanie, co odebrano
    [along_end] pytanie, co pojechało z dostawą
    [drop_fill_eve] przygotowanie stałego przekazania
    [drop_fill_leave] przygotowanie stałego przekazania
    [drop_answer_end] zamknięcie czasu na odpowiedź banku żywności
    [drop_eve] wieczorne przypomnienie o przekazaniu
    [drop_leave] przypomnienie o wyjeździe z przekazaniem
    [drop_close] pytanie, jak poszło przekazanie
   *[other] { $job }
}
trouble-unreachable = { $name }: nie można już tu napisać, czat jest zablokowany albo nie istnieje. Proszę zadzwonić.
trouble-refused = Nie udało się doręczyć wiadomości, odbiorca: { $name }. Proszę zadzwonić.
trouble-backup = Nie udało się zapisać zaplanowanej kopii zapasowej. Proszę sprawdzić komputer, na którym działam: dysk może być pełny albo brakuje folderu.
trouble-clock-ahead = Zegar maszyny, na której działam, śpieszy się o około { $minutes ->
        [one] { $minutes } minutę
        [few] { $minutes } minuty
        [many] { $minutes } minut
       *[other] { $minutes } minuty
    }. Trzymam się czasu serwisu wiadomości; proszę ustawić zegar.
trouble-clock-behind = Zegar maszyny, na której działam, spóźnia się o około { $minutes ->
        [one] { $minutes } minutę
        [few] { $minutes } minuty
        [many] { $minutes } minut
       *[other] { $minutes } minuty
    }. Trzymam się czasu serwisu wiadomości; proszę ustawić zegar.
trouble-webhook = Ktoś inny, kto ma mój token, odebrał mi połączenie do odbierania wiadomości. Przywróciłem je i nic nie zginęło. Jeśli to nikt z Was, proszę postarać się o nowy token: kto go ma, może czytać, co się do mnie pisze.
outage-over = Nie było łączności z usługą wiadomości: od { $from } do { $to }.
outage-nothing-waited = Żadna wiadomość nie musiała czekać.
outage-waited =
    { $messages ->
        [one] Jedna wiadomość czekała i właśnie wychodzi.
        [few] { $messages } wiadomości czekały i właśnie wychodzą.
        [many] { $messages } wiadomości czekało i właśnie wychodzi.
       *[other] { $messages } wiadomości czekało i właśnie wychodzi.
    }
outage-left-out =
    { $messages ->
        [one] Jednej wiadomości nie wysyłam, bo przyszłaby za późno. Odbiorca: { $name }.
        [few] { $messages } wiadomości nie wysyłam, bo przyszłyby za późno. Odbiorca: { $name }.
        [many] { $messages } wiadomości nie wysyłam, bo przyszłyby za późno. Odbiorca: { $name }.
       *[other] { $messages } wiadomości nie wysyłam, bo przyszłyby za późno. Odbiorca: { $name }.
    }
amount-of = { $weight } { crop-of }
# The crop behind a weight, in the form a language wants there: the genitive. A farm's own crop stays as it is named.
crop-of =
    { $crop ->
        [boczniak] boczniaka
       *[other] { $crop }
    }
