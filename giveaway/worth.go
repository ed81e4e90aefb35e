package giveaway

import "fmt"

// currencyWords names the currencies; ISO 4217 has the codes.
var currencyWords = map[string]string{
	"USD": "US dollars", "CAD": "Canadian dollars", "GBP": "British pounds",
	"EUR": "euros", "AUD": "Australian dollars", "NZD": "New Zealand dollars",
}

// Words writes the sum out: "189.00 US dollars".
func (w Worth) Words() string {
	name := currencyWords[w.Currency]
	if name == "" {
		name = w.Currency
	}
	return fmt.Sprintf("%d.%02d %s", w.Cents/100, w.Cents%100, name)
}
