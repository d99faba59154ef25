// Charts of what the filter shows: sizes, headroom with its range, shot lengths.
let chartsAsked = false;

function prepareCharts() {
  find("measures").hidden = false;
  const list = find("chart-list");
  for (const [title, note, maker] of [
    ["Sizes", "frames of each size, from wide to tight", sizesChart],
    ["Headroom", "against where the bottom edge cuts; the band is the range that passes without a flag (small figures are not judged); below 0 the head is cut", headroomChart],
    ["Shot lengths", "how many shots last how long", lengthsChart]]) {
    if (maker === lengthsChart && entries.every((entry) => entry.still)) continue;
    const chart = draw("svg", { class: "chart" });
    const caption = make("figcaption", {}, title, make("small", {}, note));
    const small = make("small", {});
    caption.append(small);
    const redraw = () => maker(chart, chart.clientWidth || 400, small);
    list.append(make("figure", {}, caption, chart));
    new ResizeObserver(redraw).observe(chart);
    afterFilter.push(() => later(redraw));
  }
}

function setUp(chart, width, height, label) {
  chart.setAttribute("viewBox", `0 0 ${width} ${height}`);
  chart.style.height = `${height}px`;
  chart.setAttribute("role", "img");
  chart.setAttribute("aria-label", label);
  chart.replaceChildren();
}

function sizesChart(chart, width) {
  const names = data.sizes.map(([name, abbr]) => [name, abbr]);
  const counted = new Map();
  for (const index of shown) counted.set(entries[index].size, (counted.get(entries[index].size) || 0) + 1);
  if (counted.get("")) names.push(["", "none"]);
  const most = Math.max(1, ...counted.values()), row = 21, left = 48, right = 40;
  setUp(chart, width, names.length * row + 4, `Frames of each size: ${names.map(([name]) => `${name || "none"} ${counted.get(name) || 0}`).join(", ")}`);
  names.forEach(([name, abbr], n) => {
    const value = counted.get(name) || 0, y = n * row + 2;
    const long = ((width - left - right) * value) / most;
    chart.append(draw("text", { x: left - 8, y: y + 14, "text-anchor": "end", class: "strong" }, abbr || name),
      draw("path", { class: "axis", d: `M${left} ${y}V${y + row}` }),
      draw("rect", { class: "fill sized", x: left, y: y + 3, width: long, height: row - 7 }),
      draw("text", { x: left + long + 6, y: y + 14 }, `${value}`));
    const bar = chart.querySelector("rect:last-of-type");
    if (tint(name)[0]) bar.style.fill = tint(name)[0];
  });
}

function headroomChart(chart, width, note) {
  const points = shown.map((index) => [index, entries[index].readings.crop_level, entries[index].readings.headroom_frac])
    .filter(([, crop, air]) => isNumber(crop) && isNumber(air));
  const height = 260, left = 52, foot = 34;
  const lows = points.map((point) => point[2]);
  const bottom = clamp(Math.min(...lows, -0.08) - 0.02, -0.4, 0), top = clamp(Math.max(...lows, 0.28) + 0.02, 0, 0.7);
  const beyond = lows.filter((air) => air < bottom || air > top).length;
  const x = (level) => left + ((width - left - 8) * (clamp(level, 0, 1) - 0)) / 1, y = (air) => 6 + ((height - foot - 6) * (top - clamp(air, bottom, top))) / (top - bottom);
  const outside = points.filter(([index]) => entries[index].flags.some((flag) => flag.part === "headroom"));
  setUp(chart, width, height, `Headroom of ${points.length} frames, ${outside.length} flagged`);
  chart.removeAttribute("role");
  note.textContent = `${count(points.length, "frame")}, ${outside.length} flagged (filled diamonds)${beyond ? `, ${beyond} beyond the scale, at its rim` : ""}`;
  const band = [...data.room.map(([level, low]) => [x(level), y(clamp(low, bottom, top))]), ...[...data.room].reverse().map(([level, , high]) => [x(level), y(clamp(high, bottom, top))])];
  if (band.length > 2) chart.append(draw("path", { class: "band", d: `${line(band)}Z` }));
  for (let air = Math.ceil(bottom * 10) / 10; air <= top; air += 0.1) chart.append(draw("path", { class: "axis", d: `M${left} ${y(air)}H${width - 8}` }), draw("text", { x: left - 6, y: y(air) + 4, "text-anchor": "end" }, percent(Math.round(air * 10) / 10)));
  for (const [name, level] of [["sole", 0], ["knee", 0.285], ["hip", 0.53], ["shoulder", 0.818]]) chart.append(draw("path", { class: "axis", d: `M${x(level)} 6V${height - foot}` }), draw("text", { x: x(level), y: height - foot + 15, "text-anchor": level ? "middle" : "start" }, name));
  chart.append(draw("text", { x: width - 8, y: height - 4, "text-anchor": "end" }, "bottom edge cuts at"));
  for (const [index, crop, air] of points.slice(0, 3000)) {
    const out = entries[index].flags.some((flag) => flag.part === "headroom");
    const spot = out ? draw("path", { class: "pt out", d: `M${x(crop)} ${y(air) - 5}l5 5l-5 5l-5 -5Z` }) : draw("circle", { class: "pt", cx: x(crop), cy: y(air), r: 3.5 });
    spot.append(draw("title", {}, `${nameOf(entries[index])}: ${airWords(air, 1)}`));
    spot.addEventListener("click", () => openLarge(index));
    chart.append(spot);
  }
}

// Of numbers in rising order; of an even count the middle between the two in the middle.
const median = (sorted) => (sorted[Math.floor((sorted.length - 1) / 2)] + sorted[Math.floor(sorted.length / 2)]) / 2;

function lengthsChart(chart, width, note) {
  const lengths = shown.map((index) => entries[index].length).filter(isNumber).sort((a, b) => a - b);
  const borders = [0, 0.5, 1, 2, 4, 8, 16, 32, 64, Infinity];
  const names = ["under ½ s", "½ to 1", "1 to 2", "2 to 4", "4 to 8", "8 to 16", "16 to 32", "32 to 64", "longer"];
  const counted = names.map((_, n) => lengths.filter((length) => length >= borders[n] && length < borders[n + 1]).length);
  const most = Math.max(1, ...counted), row = 21, left = 74, right = 40;
  setUp(chart, width, names.length * row + 4, `Shot lengths: ${names.map((name, n) => `${name} ${counted[n]}`).join(", ")}`);
  const mean = lengths.reduce((sum, length) => sum + length, 0) / (lengths.length || 1);
  note.textContent = lengths.length ? `${count(lengths.length, "shot")}, mean ${mean.toFixed(1)} s, median ${median(lengths).toFixed(1)} s` : "no shots";
  names.forEach((name, n) => {
    const y = n * row + 2, long = ((width - left - right) * counted[n]) / most;
    chart.append(draw("text", { x: left - 8, y: y + 14, "text-anchor": "end", class: "strong" }, name), draw("path", { class: "axis", d: `M${left} ${y}V${y + row}` }),
      draw("rect", { class: "fill", x: left, y: y + 3, width: long, height: row - 7 }), draw("text", { x: left + long + 6, y: y + 14 }, `${counted[n]}`));
  });
}
