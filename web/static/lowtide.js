// Lowtide's own small script. Every page works without it.
// @ts-check
"use strict";
