// The first formats of a date and a number cost a phone a tenth of a second: they are made here while the app's modules are on their way.
new Intl.DateTimeFormat();
new Intl.NumberFormat();
