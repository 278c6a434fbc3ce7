package pumplog

import (
	"strings"
	"unicode"
)

// headerWords are words of several languages that a header has for a channel: English, German, French, Spanish,
// Italian, Portuguese, Dutch, Swedish, Danish and Norwegian, Finnish, Polish, Czech. They are the plain words of a
// dictionary (from memory); no product's table is described. A word matches as the beginning of a word of the header, after
// letters have lost their marks. Earlier lines win.
var headerWords = []struct {
	means Channel
	words string
}{
	{Alarm, "alarm alert alerte warnung warning avertissement aviso avviso larm halytys varning ostrzezenie fault error fehler storung"},
	{Battery, "batt akku accu bateri bateria baterie charge_level"},
	{Plugged, "mains plugged charging netz laden secteur courant corriente cargando rete carica rede lichtnet natstrom nat stromnett verkko siec sit zasilanie napajeni"},
	{Pump, "pump_id pumpid pump_no pump_number serial seriennummer geratenummer device_id deviceid device gerat apparat appareil dispositivo numero_serie"},
	{Flow, "flow durchfluss fluss volumenstrom debit caudal flujo flusso portata fluxo vazao debiet flode strom przeplyw prutok virtaus luftmenge leak leckage leckrate fuite fuga perdita vazamento"},
	{Motor, "motor duty moteur moottori silnik motore motorlauf pump_on pump_run running pump_share pumpe_an"},
	{Ordered, "set setpoint target soll sollwert consigne ordered preset objetivo cible prescribed impostat instel borvarde nastav zadan"},
	{Suction, "suction vacuum vac negative unterdruck sog saug depression vide aspiration succion vacio aspirazione vuoto succao vacuo zuig undertryck undertrykk sug alipaine imu podcisnienie ssanie podtlak sani pressure press druck pression presion pressione pressao druk tryck trykk paine cisnienie tlak npwt"},
	{Therapy, "therapy therapie terapia terapi hoito terapie state status mode zustand etat estado stato toestand tilstand tila stan stav on_off"},
	{Elapsed, "elapsed runtime since laufzeit ecoule transcurrido trascorso verstreken"},
	{Clock, "uhrzeit heure hora ora clock klokkeslett klockslag kello godzin cas time_of_day"},
	{Time, "timestamp datetime time zeitstempel zeitpunkt zeit horodatage temps tiempo tempo tijdstip tijd tidpunkt tid aika czas"},
	{Date, "date datum fecha data dato paivamaara day"},
}

// notWords are words that take a meaning away again: a leak alarm is no flow.
var notWords = map[Channel]string{
	Flow:    "alarm",
	Suction: "set target soll sollwert consigne ordered preset max min alarm limit atmospheric ambient barometric luftdruck",
	Battery: "volt voltage mv temp",
}

// fold brings a header's text to lower case without marks, its words joined by single blanks.
func fold(s string) string {
	var b strings.Builder
	blank := true
	for _, c := range strings.ToLower(s) {
		if r, ok := unmarked[c]; ok {
			b.WriteString(r)
			blank = false
			continue
		}
		if unicode.IsLetter(c) || unicode.IsDigit(c) {
			b.WriteRune(c)
			blank = false
		} else if !blank {
			b.WriteByte(' ')
			blank = true
		}
	}
	return strings.TrimSpace(b.String())
}

var unmarked = func() map[rune]string {
	out := map[rune]string{'ß': "ss", 'æ': "ae", 'œ': "oe", 'ø': "o", 'ł': "l", 'đ': "d"}
	for plain, marked := range map[string]string{"a": "áàâäãåā", "e": "éèêëēęě", "i": "íìîïī", "o": "óòôöõō", "u": "úùûüūů", "c": "çćč", "n": "ñńň", "s": "śš", "z": "źżž", "y": "ýÿ", "r": "ř", "t": "ť"} {
		for _, c := range marked {
			out[c] = plain
		}
	}
	return out
}()

// meaning guesses what a header's text means; "" when no word is known.
func meaning(header string) Channel {
	h := fold(header)
	switch h {
	case "":
		return ""
	case "pump", "pumpe", "pompe", "bomba", "pompa", "pomp", "pumppu", "cerpadlo":
		return Pump
	}
	for _, x := range headerWords {
		if hasWord(h, x.words) && !hasWord(h, notWords[x.means]) {
			return x.means
		}
	}
	return ""
}

func hasWord(h, words string) bool {
	for _, w := range strings.Fields(words) {
		w = strings.ReplaceAll(w, "_", " ")
		for at := 0; ; {
			i := strings.Index(h[at:], w)
			if i < 0 {
				break
			}
			// Short words count only whole; in long ones a compound's second part counts too.
			begins := at+i == 0 || h[at+i-1] == ' '
			whole := begins && (at+i+len(w) == len(h) || h[at+i+len(w)] == ' ')
			if whole || (len(w) >= 4 && begins) || len(w) >= 5 {
				return true
			}
			at += i + 1
		}
	}
	return false
}

// unitIn finds a unit of the channel in a header's text; "" when it names none.
func unitIn(c Channel, header string) string {
	h := strings.ToLower(header)
	h = strings.NewReplacer("₂", "2", " ", "", "_", "", "/", "", "²", "2", "per", "").Replace(h)
	find := func(list ...string) string {
		for i := 0; i+1 < len(list); i += 2 {
			if strings.Contains(h, list[i]) {
				return list[i+1]
			}
		}
		return ""
	}
	switch c {
	case Suction, Ordered:
		return find("mmhg", "mmHg", "torr", "mmHg", "cmh2o", "cmH2O", "cmwater", "cmH2O", "cmws", "cmH2O", "kpa", "kPa", "hpa", "mbar", "mbar", "mbar", "inhg", "inHg", "[pa]", "Pa", "(pa)", "Pa")
	case Flow:
		return find("mlmin", "mL/min", "ccmin", "mL/min", "cm3min", "mL/min", "mlh", "mL/h", "lmin", "L/min", "lpm", "L/min", "lh", "L/h")
	case Motor, Battery:
		return find("%", "%", "pct", "%", "percent", "%", "prozent", "%", "share", "share", "fraction", "share")
	case Elapsed:
		return find("ms", "ms", "sec", "s", "[s]", "s", "(s)", "s", "min", "min", "hour", "h", "[h]", "h", "(h)", "h")
	}
	return ""
}

// Words that mean yes, no or nothing in a cell, after fold.
var (
	yesWords  = wordSet("1 y yes true on running run active therapy plugged charging mains ac ja oui si sim an ein marche encendido acceso ligado aan pa paalla wl wlaczony tak ano netz")
	noWords   = wordSet("0 n no false off standby stop stopped paused pause idle battery nein non nao nee nej nei ei nie ne aus arret apagado spento desligado uit av pois wyl unplugged discharging akku")
	noneWords = wordSet("none ok normal no null nil na nan 0 keine kein aucune aucun ninguna ninguno nessuno nessuna nenhum nenhuma geen ingen ei brak zadny zadna false")
)

func wordSet(s string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(s) {
		out[w] = true
	}
	return out
}
