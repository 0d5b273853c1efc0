// A page whose content is being worked out comes again; without this script the page reloads itself.
"use strict";
setTimeout(() => location.reload(), 1500);
