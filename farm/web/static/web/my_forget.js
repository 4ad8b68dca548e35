// On the page where one signs in: nobody is signed in any more, so no member's own page is kept on this device.
"use strict";
if ("caches" in self) {
  caches.keys().then((names) => names.filter((name) => name.startsWith("my-pages-member-")).forEach((name) => caches.delete(name)));
}
