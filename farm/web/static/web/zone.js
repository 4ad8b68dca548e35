// Fills an empty time zone with the device's own. The keeper sees it and may change it.
"use strict";
const zone = document.getElementById("id_time_zone");
if (zone && !zone.value) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone || "";
