# Pictures and printed sheets: all plain text but the captions.

# The forecast picture. Columns, then what each mark means.
picture-forecast-title = Harvest and orders for the coming deliveries
picture-forecast-nothing = Nothing planned yet.
picture-forecast-more-crops =
    { $number ->
        [one] { $number } more crop is not shown.
       *[other] { $number } more crops are not shown.
    }
picture-forecast-asked = asked
picture-forecast-promised = promised
picture-forecast-likely = likely harvest
picture-forecast-range = { $low } – { $high }
picture-forecast-legend-asked = asked by buyers
picture-forecast-legend-band = harvest, 8 times out of 10
picture-forecast-legend-promised = promised to buyers
picture-forecast-legend-median = middle of the forecast
picture-forecast-legend-short = probably short: more is asked than the middle
picture-forecast-caption = <b>{ $farm }</b>: harvest and orders
picture-forecast-caption-crop = <b>{ $crop }</b>
picture-forecast-caption-day = { $day }: likely { $range }, asked { $asked }, promised { $promised }
picture-forecast-caption-short = { $day }: probably short. Likely { $range }, asked { $asked }, promised { $promised }
picture-forecast-caption-more = The rest is in the picture.

# The family's week.
picture-week-title = The family's week from { $first }
picture-week-nothing = Nothing planned yet.
picture-week-soak = soak { count-blocks }
picture-week-open = open { count-bags }
picture-week-pick = pick about { $weight }
picture-week-deliver = deliver { $weight }
picture-week-market = market { $weight }
picture-week-drop = give { $weight }
picture-week-caption = <b>{ $farm }</b>: the coming days
picture-week-caption-day = <b>{ $day }</b>
picture-week-caption-task = { $crop }: { $task }

# Printed sheets.
sheet-page = Page { $page } of { $pages }
sheet-cold = Keep at or below 5 °C (41 °F) from cooling to handover. Follow your local food safety codes.
sheet-advice = For the rules on donations and tax, ask your local authority and your adviser.
sheet-total = Total
sheet-packing-title = Packing list for { $day }
sheet-packing-lot = picked { $lot }
sheet-packing-no-lot = not on the books
sheet-packing-totals = Totals
sheet-packing-nothing = Nothing to pack.
sheet-drop-title = Donation: { $partner }
sheet-drop-partner = To
sheet-drop-address = Address
sheet-drop-day = Day
sheet-drop-window = Time
sheet-drop-window-times = { $from } to { $until }
sheet-drop-goods = What is brought
sheet-drop-weight = Weight handed over
sheet-drop-temperature = Temperature at handover
sheet-drop-receiver = Received by (name)
sheet-drop-signature = Signature
sheet-drop-time = Day and time

# Where the harvest went.
picture-went-title = Where the harvest went, week by week
picture-went-nothing = Nothing has left the cold room in these weeks.
picture-went-week = Week from { $monday }
picture-went-sold = sold { $weight }
picture-went-offered = offers { $weight }
picture-went-market = market { $weight }
picture-went-dried = dried { $weight }
picture-went-given = given { $weight }
picture-went-lost = lost { $weight }
picture-went-caption = <b>{ $farm }</b>: where the harvest went
picture-went-caption-week = <b>{ $monday }</b>: { $parts }

# The year's sheet of what was given.
sheet-cultivated = Cultivated mushrooms only. Cook before eating; not for whoever is allergic to mushrooms.
sheet-given-title = Given to food banks in { $year }
sheet-given-caution = A record, not advice: ask a tax adviser. Deductions and donors' protection depend on local law.
sheet-given-months = By food bank and month
sheet-given-meals =
    { $meals ->
        [one] { $meals } meal
       *[other] { $meals } meals
    } of 1.2 lb of food (Feeding America, after USDA)
sheet-given-entries = Every entry
sheet-given-column-value = value
sheet-given-correction = { $crop }, correction
sheet-given-value = Value at the farm's price
sheet-given-basis = Cost, as the family gives it
sheet-given-deduction = By 26 U.S.C. 170(e)(3)(B), before its cap, if its conditions are met (ask an adviser)
