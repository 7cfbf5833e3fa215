# Nombres de los cultivos, como en una lista.
crop-shiitake = shiitake
crop-oyster = setas ostra

# Un peso de un cultivo.
amount-shiitake = { $weight } de shiitake
amount-oyster = { $weight } de setas ostra

# El shiitake crece en bloques, la seta ostra en bolsas.
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
