(function () {
  "use strict";
  var table = document.getElementById("learners");
  if (!table) { return; }
  var body = table.tBodies[0], said = document.getElementById("sorted");
  Array.prototype.forEach.call(table.tHead.rows[0].cells, function (head, column) {
    var button = document.createElement("button");
    button.type = "button";
    while (head.firstChild) { button.appendChild(head.firstChild); }
    head.appendChild(button);
    button.addEventListener("click", function () {
      var up = head.getAttribute("aria-sort") !== "ascending";
      Array.prototype.forEach.call(table.tHead.rows[0].cells, function (other) { other.removeAttribute("aria-sort"); });
      head.setAttribute("aria-sort", up ? "ascending" : "descending");
      var rows = Array.prototype.slice.call(body.rows);
      rows.sort(function (a, b) {
        var x = a.cells[column].getAttribute("data-by"), y = b.cells[column].getAttribute("data-by");
        var m = parseFloat(x), n = parseFloat(y);
        var way = (isNaN(m) || isNaN(n) || head.getAttribute("data-words") !== null) ? x.localeCompare(y) : m - n;
        return up ? way : -way;
      });
      rows.forEach(function (row) { body.appendChild(row); });
      said.textContent = "Sorted by " + button.textContent.trim() + (up ? ", rising" : ", falling");
    });
  });
}());
