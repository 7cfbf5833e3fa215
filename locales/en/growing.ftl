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
