# What the farm grows: the list of crops, a new one, and each crop's everyday values.
command-crops = Crops: prices, packs, a new one
crops-heading = <b>Crops</b>
crops-line = { $crop }
crops-line-resting = { $crop }, resting
button-new-crop = New crop
button-all-crops = All crops
crop-like-question = A new crop. Which one does it grow like?
button-like-blocks = Like { $crop }: blocks, soaked
button-like-bags = Like { $crop }: bags, opened
crop-name-first = What is it called? First in { $language }. All names in one go, with commas, work too: { $languages }.
crop-name-question = What is it called in { $language }?
button-same-name = { $name }, too
crop-name-letters = A name has { $least } to { $most } letters and no digits. Please write another.
crop-name-is-crop = “{ $name }” is read as { $crop }. Please write another name.
crop-name-is-word = In an order, “{ $name }” would not be read as a crop. Please write another name.
crop-names-count = { $number ->
    [one] Please write one name, without commas.
   *[other] Please write { $number } names with commas between them, or one without.
}
crop-card-heading = <b>{ $crop }</b>
crop-card-name = { $language }: { $name }
crop-card-blocks = Blocks, soaked to start
crop-card-bags = Bags, opened to start
crop-card-first-pick = { $days ->
    [one] First pick after { $days } day
   *[other] First pick after { $days } days
}
crop-card-first-flush = First flush: { $share } of the dry weight
crop-card-keeps = { $days ->
    [one] Keeps { $days } day at or below 5 °C (41 °F)
   *[other] Keeps { $days } days at or below 5 °C (41 °F)
}
crop-card-pack = Packed in steps of { $weight }
crop-card-cooling = { $hours ->
    [one] { $hours } hour in the cold room before packing
   *[other] { $hours } hours in the cold room before packing
}
crop-card-price = { $price } for { $weight }
crop-card-no-price = No price yet
crop-card-resting = Resting: no new orders. What was ordered stays.
crop-card-from-file = These values stand in the configuration file; please change them there.
crop-card-new = Not added yet. Press what should be different, then add it.
button-crop-add = Add it
button-crop-rest = Let it rest
button-crop-again = Take orders again
button-crop-name = Name: { $language }
button-crop-first-pick = Days to first pick
button-crop-first-flush = First flush
button-crop-keeps = Days it keeps
button-crop-pack = Pack
button-crop-cooling = Hours to cool
button-crop-price = Price
button-crop-no-price = No price
crop-button-days = { $days ->
    [one] { $days } day
   *[other] { $days } days
}
crop-button-hours = { $hours ->
    [one] { $hours } hour
   *[other] { $hours } hours
}
crop-button-share = { $share }
crop-first-pick-question = How many days from the start to the first pick?
crop-first-flush-question = What does the first flush weigh against the dry substrate? 40% is 40 lb from 100 lb dry.
crop-keeps-question = How many days after the pick may it still be delivered, kept at or below 5 °C (41 °F)?
crop-pack-question = In what steps is it packed? Press or write a weight.
crop-cooling-question = How many hours in the cold room before it is packed?
crop-price-question = What does { $weight } cost? Write for example <i>12.50</i>.
crop-days-wrong = Please write the days as a whole number from { $least } to { $most }, for example 10.
crop-hours-wrong = Please write the hours as a whole number from { $least } to { $most }, for example 12.
crop-share-wrong = Please write a percentage from { $least } to { $most }, for example 40.
crop-pack-wrong = Please write a weight from { $least } to { $most }, for example <i>250 g</i>.
crop-price-wrong = Please write the price of { $weight }, at most { $most }, for example <i>12.50</i>.
crop-added = Added. It can be ordered from now on; /batch starts one.
crop-changed = Written down.
order-resting-crop = We are not growing { $crop } at the moment. We have { $crops }.
