  let written = "";
  function sheets() {
    const said = JSON.stringify(state.sheets);
    if (said === written) return;
    written = said;
    byId("sheets").replaceChildren(...state.sheets.map((name) => make("li", {}, make("a", { href: "sheets/" + encodeURIComponent(name), download: name, textContent: name }))));
  }

  byId("sheet-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const [ppi, run, prints] = ["ppi", "run", "prints"].map((name) => Number(byId("sheet-" + name).value));
    const status = byId("sheet-status");
    status.textContent = "Drawing …";
    const asked = { kind: byId("sheet-kind").value, ppi, run, prints, label: byId("sheet-label").value, paper: byId("sheet-paper").value };
    if (await tell("POST", "sheets", asked, status)) {
      status.textContent = counted(prints, "file") + " written to dotloupe_workbench/sheets in the folder";
      byId("sheet-run").value = Math.min(run + prints, Number(byId("sheet-run").max));
    }
  });

  const local = new Date();
  local.setMinutes(local.getMinutes() - local.getTimezoneOffset());
  byId("track-day").value = local.toISOString().slice(0, 10);

  let offeredSettings = "", remembered = false, tracked = "";
  function history() {
    const names = settings(), said = JSON.stringify(names);
    if (said !== offeredSettings) {
      offeredSettings = said;
      const chosenSetting = byId("track-setting").value;
      byId("track-setting").replaceChildren(
        ...names.map((name) => make("option", { value: name, textContent: name })),
        make("option", { value: "", textContent: "None: judge the prints added so far" }),
      );
      if (names.includes(chosenSetting)) byId("track-setting").value = chosenSetting;
    }
    if (!remembered && state.history) ["printer", "paper", "mode"].forEach((noun) => { byId("track-" + noun).value = state.history[noun]; });
    remembered = true;
    const going = state.tracking, now = JSON.stringify([going, state.history_report]);
    if (now === tracked) return;
    tracked = now;
    const running = going.state === "running";
    byId("track").disabled = running;
    byId("track-going").hidden = !running;
    byId("track-bar").max = going.total || 1;
    byId("track-bar").value = going.done;
    byId("track-progress").textContent = running ? progressText(going) : going.message;
    byId("track-outcome").hidden = !state.history_report || running;
    byId("track-said").textContent = going.verdict.join(" ") || "A report of the history is in the folder.";
  }

  byId("track-setting").addEventListener("change", (event) => {
    if (event.target.value && !byId("track-mode").value) byId("track-mode").value = event.target.value;
  });
  byId("history-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const made = Object.fromEntries(["printer", "paper", "mode"].map((noun) => [noun, byId("track-" + noun).value]));
    const asked = { setting: byId("track-setting").value, made, printed_on: byId("track-day").value };
    if (await tell("POST", "track", asked, byId("track-progress"))) setTimeout(look, 300);
  });
