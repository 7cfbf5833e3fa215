# Nazwy upraw, jak na liście.
crop-shiitake = shiitake
crop-oyster = boczniaki

# Waga danej uprawy.
amount-shiitake = { $weight } shiitake
amount-oyster = { $weight } boczniaków

# Shiitake rośnie na blokach, boczniak w workach.
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
