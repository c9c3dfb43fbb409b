
"use strict";
(function () {
  var switches = document.getElementById("switches");
  var places = document.getElementById("places");
  var boxes = Array.prototype.slice.call(switches.querySelectorAll("input"));
  function show() {
    var off = boxes.filter(function (box) { return !box.checked; });
    places.setAttribute("data-off", off.map(function (box) { return box.value; }).join(" "));
  }
  switches.addEventListener("change", show);
  switches.hidden = false;
  show();
  // On paper nothing can be unfolded: open what is folded, and fold it again afterwards.
  var opened = [];
  window.addEventListener("beforeprint", function () {
    opened = Array.prototype.slice.call(document.querySelectorAll("details:not([open])"));
    opened.forEach(function (one) { one.open = true; });
  });
  window.addEventListener("afterprint", function () {
    opened.forEach(function (one) { one.open = false; });
  });
})();
