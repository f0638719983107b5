(() => {
  "use strict";
  const library = document.getElementById("chart-library");
  const charts = Array.from(document.querySelectorAll(".chart"));
  if (!library || charts.length === 0) return;

  const darkOf = JSON.parse(document.getElementById("chart-dark").textContent);
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  const fine = window.matchMedia("(pointer: fine)").matches;
  const config = { displayModeBar: false, responsive: true, displaylogo: false, scrollZoom: false, doubleClick: "reset" };
  const drawn = new Set();
  let printing = false;
  let loading = null;

  const figureOf = (place) => JSON.parse(document.getElementById("data-" + place.id).textContent);

  function load() {
    loading ??= (async () => {
      for (const id of library.dataset.skips.split(" ").filter(Boolean)) {
        const stand = document.createElement("template");
        stand.id = id;
        document.head.append(stand);
      }
      const packed = Uint8Array.from(atob(library.textContent), (c) => c.charCodeAt(0));
      const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
      const script = document.createElement("script");
      script.textContent = await new Response(stream).text();
      document.head.append(script);
      if (!window.Plotly) throw new Error("the drawing library did not start");
    })();
    return loading;
  }

  function coloured(value) {
    if (typeof value === "string") return (dark.matches && !printing && darkOf[value]) || value;
    if (Array.isArray(value)) return typeof value[0] === "number" ? value : value.map(coloured);
    if (value && typeof value === "object") return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, coloured(v)]));
    return value;
  }

  function draw(place) {
    const figure = coloured(figureOf(place));
    figure.layout.dragmode = fine ? "zoom" : false;
    figure.layout.autosize = !printing;
    if (printing) {
      figure.layout.width = 672;
      figure.layout.height = Math.round(figure.layout.height * 0.76);
      figure.layout.font.size = 11;
      place.style.minHeight = "0";
    }
    const paper = getComputedStyle(document.documentElement);
    figure.layout.hoverlabel = { bgcolor: paper.getPropertyValue("--wash").trim(), font: { color: paper.getPropertyValue("--ink").trim() } };
    drawn.add(place);
    place.dataset.drawn = "yes";
    return window.Plotly.react(place, figure.data, figure.layout, config);
  }

  function failed() {
    for (const place of charts) {
      if (drawn.has(place)) continue;
      place.textContent = library.dataset.failed;
      place.classList.add("chart-failed");
      place.style.minHeight = "0";
    }
  }

  for (const place of charts) place.style.minHeight = place.dataset.height + "px";

  const near = new IntersectionObserver((entries) => {
    for (const entry of entries) {
      if (!entry.isIntersecting) continue;
      near.unobserve(entry.target);
      load().then(() => draw(entry.target)).catch(failed);
    }
  }, { rootMargin: "400px 0px" });
  for (const place of charts) near.observe(place);

  const redraw = () => drawn.forEach((place) => draw(place));
  dark.addEventListener("change", redraw);

  // Paper has no scrolling: what was not drawn yet is drawn now, in paper's colours and width.
  const opened = [];
  window.addEventListener("beforeprint", () => {
    printing = true;
    for (const part of document.querySelectorAll("details:not([open])")) {
      part.open = true;
      opened.push(part);
    }
    if (window.Plotly) charts.forEach((place) => draw(place));
  });
  window.addEventListener("afterprint", () => {
    printing = false;
    for (const place of charts) place.style.minHeight = place.dataset.height + "px";
    opened.splice(0).forEach((part) => { part.open = false; });
    if (window.Plotly) redraw();
  });

  // Ready for print, and quick at the first scroll, without holding up the first look at the page.
  const idle = window.requestIdleCallback ?? ((run) => setTimeout(run, 1500));
  window.addEventListener("load", () => idle(() => load().catch(failed), { timeout: 3000 }));
})();
