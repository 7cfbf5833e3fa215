# Names of crops, as in a list.
crop-shiitake = shiitake
crop-oyster = oyster mushrooms

# A weight of a crop.
amount-shiitake = { $weight } shiitake
amount-oyster = { $weight } oyster mushrooms

# Shiitake grows on blocks, oyster in bags.
count-blocks =
    { $number ->
        [one] { $number } block
       *[other] { $number } blocks
    }
count-bags =
    { $number ->
        [one] { $number } bag
       *[other] { $number } bags
    }
