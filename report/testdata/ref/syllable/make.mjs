// Counts the syllables of the words of the English leaflet, one a line on standard input, with npm's syllable.
import { syllable } from 'syllable'
import { readFileSync } from 'node:fs'
for (const w of readFileSync(0, 'utf8').trim().split('\n')) console.log(w + '\t' + syllable(w))
