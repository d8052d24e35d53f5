"use strict";
(function () {
  // What is folded up on the screen is open on paper, but for what nobody looks for.
  addEventListener("beforeprint", function () {
    document.querySelectorAll("details:not(.aside)").forEach(function (one) {
      one.open = true;
    });
  });
  // A link of a chain lights its number in the waves beside it.
  document.querySelectorAll(".chain li[data-mark]").forEach(function (link) {
    const spot = document.getElementById(link.dataset.mark);
    if (!spot) {
      return;
    }
    ["mouseenter", "focus"].forEach(function (when) {
      link.addEventListener(when, function () {
        spot.classList.add("lit");
        const room = spot.closest(".scroll");
        if (room) {
          const there = spot.getBoundingClientRect();
          const here = room.getBoundingClientRect();
          if (there.left < here.left || there.right > here.right) {
            room.scrollLeft += there.left - here.left - here.width / 2;
          }
        }
      });
    });
    ["mouseleave", "blur"].forEach(function (when) {
      link.addEventListener(when, function () {
        spot.classList.remove("lit");
      });
    });
  });
  // Waves that go wrong out of sight are scrolled to where they do.
  function showWrong(room) {
    const tip = room.querySelector(".w-says");
    if (tip) {
      const there = tip.getBoundingClientRect();
      const here = room.getBoundingClientRect();
      if (here.width > 0 && there.right > here.right) {
        room.scrollLeft += there.left - here.left - here.width * 0.7;
      }
    }
  }
  document.querySelectorAll(".waves .scroll").forEach(function (room) {
    showWrong(room);
    const folded = room.closest("details");
    if (folded) {
      folded.addEventListener("toggle", function () {
        showWrong(room);
      });
    }
  });
  // What was linked to and is folded up opens.
  function unfold() {
    const name = decodeURIComponent(location.hash.slice(1));
    const target = name && document.getElementById(name);
    const folded = target && target.closest("details");
    if (folded) {
      folded.open = true;
      target.scrollIntoView();
    }
  }
  addEventListener("hashchange", unfold);
  unfold();
})();
