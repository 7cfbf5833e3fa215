# A text was read, but something must be asked first. Nothing has changed.
unclear-too-long = That is more than I can read at once. Please write at most { $most } characters.
unclear-batch = I know no batch { $name }. /shelves shows the number of each. Nothing was written down.
unclear-unit = { $amount } of what: lb, oz, kg or g? Please write it again with the unit.
unclear-too-little = That is too little to pack. Please write at least { $least }.
unclear-too-much = That is more than I may write down: { $most } is the most in one line. Please check the number.
unclear-units-range = Please write a number of blocks or bags between 1 and { $most }.
unclear-which-weight = I can read that in two ways: { $weights }. Please write it again with the unit.
unclear-crop = I don't know “{ $word }”. We grow { $crops }.
unclear-weight-missing = How much { $crop }? Please write it with the weight, for example <i>5 lb</i>.
unclear-crop-twice = You wrote { $crop } twice. Please write it once, with the whole weight.
unclear-crop-missing = Of which mushroom? Please write it with the name.
unclear-units-missing = How many blocks or bags? Please write it with the number.
unclear-which-date = Which day do you mean: { $days }? Please write the month as a word.
unclear-date = Which day do you mean? Please write it as, for example, <i>June 4</i>.
unclear-date-past = { $day } has passed. Please write a day to come.
unclear-date-far = That is too far ahead. Please write a day within { $days } days.
unclear-no-such-date = That day is not in the calendar. Please check the date and write it again.
unclear-scale = Is that °F or °C? Please write it with the letter.
unclear-is-question = I read that as a question, so nothing was ordered. Write the order itself, for example <i>5 lb shiitake</i>, or see /help.
unclear-several = Those are two things at once. Please write them one by one.
unclear-incomplete = I am not sure what exactly you want. Please write it in full, or see /help.
unclear-words = I did not understand “{ $words }”, so nothing has changed. Please write it another way, or see /help.

# A typed yes, no or weight, and what it may answer.
nothing-asked = Nothing waits for a yes or no just now.
which-one = Do you mean this?
welcome-thanks = You're welcome.
which-yes = Several questions wait for you. For which one is the yes?
which-no = Several questions wait for you. For which one is the no?
which-weight = { $weight } of which offer?
which-shortfall = Short: { $crop }, { $day }
which-offer = Offer: { $crop }
which-drop = Delivery to you: { $at }
which-order = The order to confirm
