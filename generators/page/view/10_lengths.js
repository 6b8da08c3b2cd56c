// Lengths as the recipe writes them; the same rules as the lists that come with the page.
const Lengths = (() => {
  function plain(mm) {
    const text = mm.toFixed(2).replace(/\.?0+$/, "");
    return text === "-0" ? "0" : text;
  }

  function common(a, b) { return b ? common(b, a % b) : a; }

  // Inches as a mixed fraction, "about" where it was rounded; or millimetres with up to two decimals.
  function format(mm, unit, denominator = 32) {
    if (unit === "mm") return plain(mm) + " mm";
    const exact = (mm / 25.4) * denominator;
    let steps = Math.round(exact);
    // Halves go to the even step, as in the lists.
    if (Math.abs(exact - Math.trunc(exact)) === 0.5 && steps % 2) steps -= 1;
    const rounded = Math.abs(mm - (steps / denominator) * 25.4) > 1e-6;
    const size = Math.abs(steps), whole = Math.floor(size / denominator), part = size % denominator;
    const shared = common(part, denominator);
    const fraction = part ? part / shared + "/" + denominator / shared : "";
    const number = (whole || !part ? String(whole) : "") + (whole && part ? "-" : "") + fraction;
    return (rounded ? "about " : "") + (steps < 0 ? "-" : "") + number + '"';
  }

  // A measured distance: to a 64th of an inch with the decimals beside it.
  function measured(mm, unit) {
    return unit === "mm" ? format(mm, unit) : format(mm, unit, 64) + " (" + (mm / 25.4).toFixed(3) + "\")";
  }

  return { format, measured };
})();
