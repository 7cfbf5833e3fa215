//! Polish words and what they stand for, in the cases they are used in. Accents and the stroked l are dropped before
//! these are looked up.

use super::TemperatureScale::{Celsius, Fahrenheit};
use super::vocabulary::Term::*;
use super::vocabulary::{Entry, Verb};
use chrono::Weekday::*;
use scheduler::quantity::Amount;
use scheduler::quantity::WeightUnit::{Gram, Kilogram, Ounce, Pound};

const HALF: Amount = Amount { numerator: 1, denominator: 2 };
const QUARTER: Amount = Amount { numerator: 1, denominator: 4 };

pub(super) fn entries() -> Vec<Entry> {
    [wishes(), reports(), numbers(), days(), joints(), doubts()].concat()
}

fn wishes() -> Vec<Entry> {
    vec![
        (Verb(Verb::Order), "zamówienie|zamawiam|zamawiamy|zamówić|nowe zamówienie|składam zamówienie"),
        (
            Polite,
            "poproszę|poprosimy|chcę|chcemy|chciałbym|chciałabym|chcielibyśmy|potrzebuję|potrzebujemy|potrzeba|wezmę|weźmiemy|biorę|bierzemy|\
             dajcie|daj|przywieźcie|przywieź|przyślijcie|przyślij|wyślijcie|wyślij|czy mogę prosić|czy mogę prosić o|czy możemy prosić|\
             czy możemy prosić o|czy mogę|czy możecie|czy możesz|możecie|możesz|czy mógłbym|czy mogłabym|prosimy o|proszę o|prosiłbym o|\
             prosiłabym o|chciałbym zamówić|chciałabym zamówić|chcę zamówić|chcemy zamówić|prosimy|dla nas|wpisz|wpiszcie|wpisz nas na|muszę|musimy",
        ),
        (
            Verb(Verb::Same),
            "to samo co w zeszłym tygodniu|to samo co tydzień temu|to samo co ostatnio|to samo co poprzednio|to samo|jak zwykle|to co zwykle|\
             jak ostatnio|jak w zeszłym tygodniu|tak jak ostatnio|tak jak zwykle|to samo co zawsze|to co zawsze|jak zawsze|powtórz ostatnie zamówienie|\
             powtórz zamówienie|powtórz|jeszcze raz to samo|to samo jeszcze raz|tyle samo co ostatnio|to samo co zwykle|tak samo jak ostatnio|\
             tak samo jak w zeszłym tygodniu|tyle co zwykle|to samo zamówienie|stałe to samo",
        ),
        (
            Verb(Verb::Skip),
            "pomiń|pomińcie|pominąć|pomijamy|pomijam|opuść|opuszczamy|opuszczam|odpuszczamy|odpuszczam|pomińmy",
        ),
        (
            Verb(Verb::Nothing),
            "nic|nic dla nas|bez zamówienia|bez dostawy|nic nie potrzebujemy|nic nie potrzebuję|nie potrzebujemy nic|nie potrzebuję nic|niczego nie potrzebujemy|nic nie chcemy|nic nie bierzemy|nic nie biorę",
        ),
        (
            Verb(Verb::Change),
            "zmień|zmieńcie|zmienić|zmień na|zmieńcie na|zmień zamówienie na|zmień moje zamówienie na|zmień nasze zamówienie na|zmień zamówienie|\
             zmieniam na|zmieniam|zmieniamy na|zmieniamy|zmienić na|zmienić zamówienie na|niech będzie|niech będą|niech to będzie|zamień na|popraw na|popraw|ustaw|ustaw na",
        ),
        (
            Verb(Verb::Without),
            "bez|nie chcę|nie chcemy|nie potrzebuję|nie potrzebujemy|nie trzeba|nie przysyłaj|nie przysyłajcie|nie przywoźcie|nie biorę|nie bierzemy|\
             nie wysyłaj|nie wysyłajcie|usuń",
        ),
        (
            Verb(Verb::Pause),
            "pauza|wstrzymaj|wstrzymajcie|wstrzymać|wstrzymaj zamówienia|wstrzymaj zamówienie|wstrzymaj moje zamówienia|wstrzymaj nasze zamówienia|wstrzymaj dostawy|wstrzymujemy|wstrzymuję|zawieś|zawieś zamówienia|zawieś zamówienie|zawieszamy|zrób przerwę|przerwa|zamknięte|jesteśmy zamknięci|mamy zamknięte|wstrzymajcie dostawy|wstrzymajcie zamówienia",
        ),
        (
            Verb(Verb::Resume),
            "wznów|wznówcie|wznowić|wznów zamówienia|wznów zamówienie|wznawiamy|wznawiam|wznów dostawy|wracamy|jesteśmy z powrotem|znów otwarte|już otwarte|zaczynamy znowu|zacznij znowu|zaczynamy od nowa|otwieramy|znowu otwarte|wznów moje zamówienia|wznów nasze zamówienia",
        ),
        (
            Verb(Verb::End),
            "zakończ|zakończcie|zakończyć|kończymy|kończę|koniec z|już nie chcę|już nie chcemy|nie chcę już|nie chcemy już|nie chcemy więcej|nie chcę więcej|zrezygnuj z|rezygnuję z|rezygnujemy z|skończ z|rezygnuję ze|rezygnujemy ze|koniec ze",
        ),
        (
            Standing,
            "stałe zamówienie|stałego zamówienia|moje stałe zamówienie|nasze stałe zamówienie|mojego stałego zamówienia|naszego stałego zamówienia|zamówienie stałe|zamówienie cotygodniowe|cotygodniowe zamówienie|zamówienia stałego|stałym zamówieniem|stale",
        ),
        (
            Verb(Verb::Cancel),
            "anuluj|anulujcie|anulować|anuluję|anulujemy|anuluj zamówienie|anuluj moje zamówienie|anuluj nasze zamówienie|anulować zamówienie|odwołaj|\
             odwołaj zamówienie|odwołajcie|odwołujemy|odwołuję|odwołać|wycofaj|wycofaj zamówienie|wycofuję zamówienie|wycofujemy zamówienie|\
             anuluj wszystko|skasuj zamówienie|odwołuję zamówienie|odwołujemy zamówienie|anulujcie zamówienie|odwołaj moje zamówienie",
        ),
        (
            Verb(Verb::Yes),
            "tak|ok|okej|okay|dobrze|zgoda|zgadza się|potwierdzam|potwierdzamy|jasne|pewnie|super|świetnie|oczywiście|tak proszę|się zgadza|w porządku|dobra|może być",
        ),
        (Verb(Verb::No), "nie|nie dziękuję|nie dzięki|niestety nie|źle|nie zgadza się|to nie tak|błędnie|nie tak"),
        (
            Verb(Verb::Help),
            "pomoc|pomóż|pomocy|co potrafisz|co umiesz|jak to działa|jak zamówić|jak zamawiać|polecenia|instrukcja|co mogę zrobić",
        ),
        (
            Verb(Verb::ShowOrders),
            "moje zamówienia|moje zamówienie|nasze zamówienia|nasze zamówienie|pokaż zamówienia|pokaż moje zamówienia|pokaż moje zamówienie|pokaż zamówienie|\
             co zamówiłem|co zamówiłam|co zamówiliśmy|co mam zamówione|co mamy zamówione|zamówienia|lista zamówień|jakie mam zamówienia|pokaż nasze zamówienia|\
             sprawdź moje zamówienie|sprawdź zamówienie",
        ),
        (
            Verb(Verb::Today),
            "co dziś|co dzisiaj|co dziś do zrobienia|co dzisiaj do zrobienia|co robimy dziś|co robimy dzisiaj|lista na dziś|plan na dziś|plan na dzisiaj|zadania na dziś|zadania na dzisiaj|co jest na dziś|co mamy dziś|co mamy dzisiaj|co mamy na dziś",
        ),
    ]
}

fn reports() -> Vec<Entry> {
    vec![
        (
            Verb(Verb::Pick),
            "zebrałem|zebrałam|zebraliśmy|zebrano|zebrane|zerwałem|zerwałam|zerwaliśmy|ścięliśmy|ściąłem|ścięłam|zebraliśmy właśnie|właśnie zebrałem",
        ),
        (
            Verb(Verb::Pins),
            "zawiązki|zawiązki w|zawiązki na|widać zawiązki|widać zawiązki w|widać zawiązki na|są zawiązki|są zawiązki w|są zawiązki na|widzę zawiązki|widzę zawiązki w|widzę zawiązki na|pierwsze zawiązki|pierwsze zawiązki w|pierwsze zawiązki na|zawiązuje|zawiązuje się|widzimy zawiązki|widzimy zawiązki na",
        ),
        (
            Verb(Verb::Lost),
            "straciliśmy|straciłem|straciłam|wyrzuciliśmy|wyrzuciłem|wyrzuciłam|stracone|do wyrzucenia|wyrzucone|przepadły|przepadło",
        ),
        (
            Verb(Verb::Soaked),
            "namoczyliśmy|namoczyłem|namoczyłam|namoczone|namoczono|zamoczyliśmy|zamoczyłem|zamoczone",
        ),
        (
            Verb(Verb::Opened),
            "otworzyliśmy|otworzyłem|otworzyłam|otwarte|otwarto|nacięliśmy|naciąłem|nacięte|otwieramy worki",
        ),
        (
            Verb(Verb::Return),
            "wróciliśmy z|wróciłem z|wróciłam z|zostało z targu|zostały z targu|zostało|zostały|zwrot z targu|z targu wróciło|wróciło z targu|wracamy z|nie sprzedało się|niesprzedane|przywieźliśmy z powrotem|z targu zostało|wróciło|wróciliśmy z targu z",
        ),
        (
            Verb(Verb::HandedOver),
            "oddaliśmy|oddałem|oddałam|przekazaliśmy|przekazałem|przekazałam|oddane|przekazane|dostarczone|dostarczyliśmy|dostarczyłem|dostarczyłam|zawiozłem|zawiozłam|zawieźliśmy|wydane|zostawiliśmy",
        ),
        (
            Courtesy,
            "do banku żywności|w banku żywności|przez pleśń|z powodu pleśni|spleśniałe|zakażone|z pleśnią|pleśń|do jadłodajni|zepsute",
        ),
        (
            Piece,
            "blok|bloki|bloków|bloku|bloczek|bloczki|bloczków|worek|worki|worków|balot|baloty|balotów|kostka|kostki|kostek|sztuka|sztuki|sztuk",
        ),
        (
            Batch,
            "partia|partii|partię|partią|seria|serii|serię|z partii|z serii|w partii|na partii|partia nr|partii nr",
        ),
        (Degree, "stopień|stopnia|stopnie|stopni|stopniach"),
        (Scale(Celsius), "c|celsjusza|celsius"),
        (Scale(Fahrenheit), "f|fahrenheita|fahrenheit"),
    ]
}

fn numbers() -> Vec<Entry> {
    let mut entries = vec![
        (Part(HALF), "pół|połowa|połówkę|połówka"),
        (OneAndHalf, "półtora|półtorej"),
        (Part(QUARTER), "ćwierć|ćwiartka|ćwiartkę"),
        (OneUnit(Kilogram), "kilogram|kilo|kilogramik"),
        (OneUnit(Pound), "funt|funta"),
        (Unit(Pound, 1), "funty|funtów|lb|lbs"),
        (Unit(Ounce, 1), "uncja|uncji|uncje|uncję|oz"),
        (Unit(Kilogram, 1), "kg|kilograma|kilogramy|kilogramów|kila"),
        (Unit(Gram, 1), "g|gr|gram|gramy|gramów|grama"),
        (Unit(Gram, 10), "deko|dag|dkg|deka|dekagram|dekagramy|dekagramów"),
        (Mushroom, "grzyb|grzyby|grzybów|grzybami|grzybki|grzybków"),
        (Number(0), "zero"),
        (Number(1), "jeden|jedna|jedną|jednego"),
        (Number(2), "dwa|dwie|dwóch"),
        (Number(3), "trzy|trzech"),
        (Number(4), "cztery|czterech"),
        (Number(100), "sto"),
        (Number(200), "dwieście"),
        (Number(300), "trzysta"),
        (Number(500), "pięćset"),
        (Ordinal(1), "pierwszy|pierwszego"),
        (Ordinal(2), "drugi|drugą|drugiego|drugie"),
        (Ordinal(3), "trzeci|trzecią|trzeciego"),
        (Ordinal(4), "czwarty|czwartego|czwartą"),
        (Ordinal(5), "piątego"),
        (Ordinal(6), "szóstego"),
        (Ordinal(10), "dziesiątego"),
        (Ordinal(11), "jedenastego"),
        (Ordinal(15), "piętnastego"),
    ];
    let words = [
        "pięć|pięciu",
        "sześć|sześciu",
        "siedem|siedmiu",
        "osiem|ośmiu",
        "dziewięć|dziewięciu",
        "dziesięć|dziesięciu",
        "jedenaście",
        "dwanaście",
        "trzynaście",
        "czternaście",
        "piętnaście",
        "szesnaście",
        "siedemnaście",
        "osiemnaście",
        "dziewiętnaście",
        "dwadzieścia",
    ];
    entries.extend(words.into_iter().zip(5..).map(|(word, number)| (Number(number), word)));
    let tens = [
        "trzydzieści",
        "czterdzieści",
        "pięćdziesiąt",
        "sześćdziesiąt",
        "siedemdziesiąt",
        "osiemdziesiąt",
        "dziewięćdziesiąt",
    ];
    entries.extend(tens.into_iter().zip(3..).map(|(word, tens)| (Number(tens * 10), word)));
    entries
}

fn days() -> Vec<Entry> {
    let mut entries = vec![
        (Near(0), "dziś|dzisiaj|na dziś"),
        (Near(1), "jutro|jutra"),
        (Near(2), "pojutrze"),
        (Near(-1), "wczoraj"),
        (
            NextDelivery,
            "następna dostawa|następną dostawę|następnej dostawy|najbliższa dostawa|najbliższą dostawę|tym razem|następnym razem|ta dostawa|tę dostawę|\
             najbliższej dostawy|przyszła dostawa|kolejną dostawę|kolejna dostawa",
        ),
        (
            Next,
            "przyszły|przyszłego|przyszłym|przyszłą|przyszłej|przyszła|następny|następnego|następnym|następną|następnej|następna|kolejny|kolejnym|kolejną",
        ),
        (
            This,
            "ten|tego|tym|tę|ta|tą|bieżący|bieżącym|najbliższy|najbliższą|najbliższego|najbliższym|nadchodzący|nadchodzącą",
        ),
        (Week, "tydzień|tygodnia|tygodniu|tygodnie|tygodni"),
        (Days, "dzień|dni|dnia"),
        (Months, "miesiąc|miesiące|miesięcy|miesiąca"),
        (
            Weekly(1),
            "co tydzień|cotygodniowo|każdego tygodnia|w każdym tygodniu|raz w tygodniu|raz na tydzień|tygodniowo",
        ),
        (Weekly(2), "co drugi tydzień|co dwa tygodnie|co 2 tygodnie|raz na dwa tygodnie"),
        (Every, "co|każdy|każdą|w każdy|w każdą|każdego|każda"),
        (From, "od|począwszy od|zaczynając od|poczynając od|licząc od"),
        (Until, "do|aż do"),
        (EndOf, "końca|koniec"),
        (Nth, "go|ego|y"),
    ];
    let weekdays: [(_, &str, &str); 7] = [
        (Mon, "poniedziałek|poniedziałku|pon|pn", "poniedziałki"),
        (Tue, "wtorek|wtorku|wt", "wtorki"),
        (Wed, "środa|środę|środy|śr", ""),
        (Thu, "czwartek|czwartku|czw|czwartkowy", "czwartki"),
        (Fri, "piątek|piątku|pt", "piątki"),
        (Sat, "sobota|sobotę|sob", ""),
        (Sun, "niedziela|niedzielę|niedzieli|nd|niedz", "niedziele"),
    ];
    for (day, one, many) in weekdays {
        entries.push((Weekday(day), one));
        entries.push((Weekdays(day), many));
    }
    // "soboty" and "środy" are one in the genitive and many in the accusative: only after a preposition that tells.
    entries.push((Weekdays(Sat), "w soboty"));
    entries.push((Weekdays(Wed), "w środy"));
    entries.push((Weekday(Sat), "soboty"));
    // Both meanings are near to a slip of these two, so none is taken.
    entries.push((Weekdays(Sat), "soboty"));
    entries.push((Weekdays(Wed), "środy"));
    let months = [
        "styczeń|stycznia|styczniu",
        "luty|lutego|lutym",
        "marzec|marca|marcu",
        "kwiecień|kwietnia|kwietniu",
        "maj|maja|maju",
        "czerwiec|czerwca|czerwcu",
        "lipiec|lipca|lipcu",
        "sierpień|sierpnia|sierpniu",
        "wrzesień|września|wrześniu",
        "październik|października|październiku",
        "listopad|listopada|listopadzie",
        "grudzień|grudnia|grudniu",
    ];
    entries.extend(months.into_iter().zip(1..).map(|(names, month)| (Month(month), names)));
    entries
}

fn joints() -> Vec<Entry> {
    vec![
        (And, "i|oraz|plus|a także|a"),
        (Of, "z|ze"),
        (In, "za"),
        (For, "na"),
        (The, "w|we|dnia|w dniu|na dzień"),
        (Apiece, "po"),
        (Each, "każdego z|każdego rodzaju"),
        (
            Courtesy,
            "proszę|dziękuję|dzięki|dziękujemy|z góry dziękuję|cześć|hej|dzień dobry|dobry wieczór|witam|witajcie|pozdrawiam|pozdrawiamy|pozdrowienia|\
             świeże|świeżych|świeżego|świeży|dla|mi|nam|nas|mnie|o|moje|mój|nasz|nasze|zamówienie|szefie|miłego dnia|się|jest|są|tylko|zamówienia|dostawę|dostawy|dostawa",
        ),
    ]
}

/// Words that change a meaning in ways not read here, and near-twins of known words that are no slips of them.
fn doubts() -> Vec<Entry> {
    let asked = [
        "nigdy",
        "może",
        "chyba",
        "ewentualnie",
        "prawdopodobnie",
        "oprócz",
        "poza",
        "ale",
        "lub",
        "albo",
        "zamiast",
        "raczej",
        "jeśli",
        "jeżeli",
        "gdyby",
        "chyba że",
        "około",
        "mniej więcej",
        "przynajmniej",
        "co najmniej",
        "minimum",
        "maksimum",
        "maksymalnie",
        "minimalnie",
        "najwyżej",
        "więcej",
        "mniej",
        "dodatkowo",
        "dodatkowe",
        "dodaj",
        "dodajcie",
        "dorzuć",
        "dorzućcie",
        "jeszcze",
        "kolejne",
        "inne",
        "kilka",
        "parę",
        "kilkanaście",
        "tuzin",
        "oba",
        "obu",
        "podwójnie",
        "dwa razy",
        "trzy razy",
        "razy",
        "raz",
        "co miesiąc",
        "miesięcznie",
        "prawie",
        "ponad",
        "poniżej",
        "niż",
        "zeszły",
        "zeszłego",
        "zeszłym",
        "zeszłą",
        "ostatni",
        "ostatnie",
        "ostatnio",
        "poprzedni",
        "poprzednie",
        "przed",
        "rano",
        "wieczorem",
        "po południu",
        "wieczór",
        "zanim",
        "ani",
        "również",
        "też",
        "temu",
        "wcale",
        "z wyjątkiem",
        "prócz",
        "jednak",
        "co drugi dzień",
        "codziennie",
        "dwa razy w tygodniu",
        "mieszane",
    ];
    let mut entries: Vec<Entry> = asked.into_iter().map(|word| (Doubt(word), word)).collect();
    entries.extend(
        ["czy|ile|macie|masz|mają|kiedy|gdzie|jaki|jaka|jakie|który|dlaczego|po ile|za ile|ile kosztuje|czy jest|czy są|czy macie|dostępne|czy będzie|czy będą|czy można jeszcze|czy mogę jeszcze"]
            .into_iter()
            .map(|words| (Asking, words)),
    );
    for twin in [
        "pieczarki",
        "pieczarek",
        "boczek",
        "boczku",
        "boczkiem",
        "zmienne",
        "czwarta",
        "piwo",
        "porcja",
        "pominięte",
        "sobotni",
        "zebranie",
    ] {
        entries.push((Word(twin.to_owned()), twin));
    }
    entries
}
