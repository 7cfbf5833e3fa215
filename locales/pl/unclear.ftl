unclear-too-long =
    { $most ->
        [one] To więcej, niż mogę przeczytać naraz. Napisz najwyżej { $most } znak.
        [few] To więcej, niż mogę przeczytać naraz. Napisz najwyżej { $most } znaki.
        [many] To więcej, niż mogę przeczytać naraz. Napisz najwyżej { $most } znaków.
       *[other] To więcej, niż mogę przeczytać naraz. Napisz najwyżej { $most } znaku.
    }
unclear-batch = Nie znam partii { $name }. Numery są w /shelves. Nic nie zapisano.
unclear-unit = { $amount } czego: funtów, uncji, kg czy g? Napisz jeszcze raz z jednostką.
unclear-too-little = To za mało, żeby zapakować. Napisz co najmniej { $least }.
unclear-too-much = To więcej, niż mogę zapisać: najwyżej { $most } w jednej pozycji. Sprawdź liczbę.
unclear-units-range = Napisz liczbę bloków lub worków od 1 do { $most }.
unclear-which-weight = Można to przeczytać na dwa sposoby: { $weights }. Napisz jeszcze raz z jednostką.
unclear-crop = Nie znam „{ $word }”. Uprawiamy: { $crops }.
unclear-weight-missing = Ile { crop-of }? Napisz razem z wagą, na przykład <i>2 kg</i>.
unclear-crop-twice = To samo jest tu dwa razy: { $crop }. Napisz raz, z całą wagą.
unclear-crop-missing = Których grzybów? Napisz razem z nazwą.
unclear-units-missing = Ile bloków lub worków? Napisz razem z liczbą.
unclear-which-date = O który dzień chodzi: { $days }? Napisz miesiąc słowem.
unclear-date = O który dzień chodzi? Napisz na przykład: <i>4 czerwca</i>.
unclear-date-past = Ten dzień już minął: { $day }. Napisz dzień, który dopiero będzie.
unclear-date-far =
    { $days ->
        [one] To za daleko. Napisz dzień w ciągu { $days } dnia.
        [few] To za daleko. Napisz dzień w ciągu { $days } dni.
        [many] To za daleko. Napisz dzień w ciągu { $days } dni.
       *[other] To za daleko. Napisz dzień w ciągu { $days } dnia.
    }
unclear-no-such-date = Takiego dnia nie ma w kalendarzu. Sprawdź datę i napisz ją jeszcze raz.
unclear-scale = To °F czy °C? Napisz razem z literą.
unclear-is-question = To wygląda na pytanie, więc nic nie zamówiono. Napisz samo zamówienie, na przykład <i>2 kg shiitake</i>, albo zobacz /help.
unclear-several = To dwie rzeczy naraz. Napisz je po kolei.
unclear-incomplete = Nie wiem dokładnie, o co chodzi. Napisz całość albo zobacz /help.
unclear-words = Nie rozumiem „{ $words }”, więc nic się nie zmieniło. Napisz inaczej albo zobacz /help.

# A typed yes, no or weight, and what it may answer.
nothing-asked = Teraz nic nie czeka na „tak” ani „nie”.
which-one = Czy chodzi o to?
welcome-thanks = Nie ma za co.
which-yes = Kilka pytań czeka na odpowiedź. Którego dotyczy „tak”?
which-no = Kilka pytań czeka na odpowiedź. Którego dotyczy „nie”?
which-weight = { $weight } z której oferty?
which-shortfall = Brakuje: { $crop }, { $day }
which-offer = Oferta: { $crop }
which-drop = Dostawa do Was: { $at }
which-order = Zamówienie do potwierdzenia
unclear-left-out = Nie użyto: <i>{ $words }</i>.
unclear-guess = Odczytano: <i>{ $text }</i>, nie użyto: <i>{ $words }</i>. Czy to się zgadza?
unclear-button-guess = Tak, zgadza się
unclear-which-of = Które z tych?
