package review

// Facts are what rules are asked about.
var Facts = factsOf
