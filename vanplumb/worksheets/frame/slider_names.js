// A slider says its number to who can't see it, 1.2000000000000002 and all; this rounds what it
// says and gives its handle the name of its field.
const name = sheet => {
  for (const handle of sheet.querySelectorAll(".vp-field .noUi-handle:not([aria-label])")) {
    const label = handle.closest(".vp-field").querySelector(".widget-label");
    if (label?.textContent) handle.setAttribute("aria-label", label.textContent);
  }
  for (const handle of sheet.querySelectorAll(".vp-field .noUi-handle[aria-valuetext]")) {
    const said = handle.getAttribute("aria-valuetext");
    const short = String(Number(Number(said).toPrecision(6)));
    if (short !== said && short !== "NaN") handle.setAttribute("aria-valuetext", short);
  }
};

const render = ({ el }) => {
  el.style.display = "none";
  const watch = new MutationObserver(() => name(el.closest(".vanplumb") ?? el));
  const start = tries => {
    const sheet = el.closest(".vanplumb");
    if (!sheet) return tries && setTimeout(start, 100, tries - 1);
    name(sheet);
    // other units bring another slider
    const what = { childList: true, subtree: true, attributeFilter: ["aria-valuetext"] };
    watch.observe(sheet.querySelector(".vp-inputs") ?? sheet, what);
  };
  start(100);
  return () => watch.disconnect();
};

export default { render };
