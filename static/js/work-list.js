// A work list: say how many operations are ticked. Everything else works without this script.
document.querySelectorAll("[data-work-list]").forEach((list) => {
  const count = list.querySelector("[data-count]");
  const say = () => {
    const ticked = list.querySelectorAll("input[name=operation]:checked").length;
    count.textContent = ticked ? `${ticked} ticked` : "Nothing ticked";
  };
  list.addEventListener("change", say);
  window.addEventListener("pageshow", say);
  say();
});
