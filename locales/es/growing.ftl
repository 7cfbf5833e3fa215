count-blocks =
    { $number ->
        [one] { $number } bloque
       *[other] { $number } bloques
    }
count-bags =
    { $number ->
        [one] { $number } bolsa
       *[other] { $number } bolsas
    }
