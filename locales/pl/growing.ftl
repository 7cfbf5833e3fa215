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
