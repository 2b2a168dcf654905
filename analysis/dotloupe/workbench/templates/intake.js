  async function take(files, passedOver = 0) {
    if (!files.length && !passedOver) return;
    const refusals = byId("refusals");
    refusals.replaceChildren();
    sending += 1;
    let done = 0, taken = 0;
    for (const { name, file } of files) {
      byId("taken").textContent = "Adding " + (done + 1) + " of " + files.length;
      try {
        show(await ask("PUT", "photographs/" + address(name), file));
        taken += 1;
      } catch (error) {
        refusals.append(make("li", { textContent: error.message }));
      }
      done += 1;
    }
    sending -= 1;
    byId("taken").textContent = counted(taken, "photograph") + " taken in" + (taken < done ? ", " + (done - taken) + " not" : "") +
      (passedOver ? "; " + counted(passedOver, "other file") + " passed over" : "");
    look();
  }

  const fromDisk = (entry) => new Promise((resolve, reject) => entry.file(resolve, reject));
  const within = (entry) => new Promise((resolve, reject) => {
    const reader = entry.createReader(), all = [];
    const next = () => reader.readEntries((some) => { all.push(...some); if (some.length) next(); else resolve(all); }, reject);
    next();
  });

  // every file below a folder, with the path from it
  async function below(entry, path) {
    if (!entry.isDirectory) return [{ path, file: await fromDisk(entry) }];
    const found = [];
    for (const inner of await within(entry)) found.push(...await below(inner, path + "/" + inner.name));
    return found;
  }

  const isPhotograph = (name) => !name.startsWith(".") && byId("files").accept.split(",").some((ending) => name.toLowerCase().endsWith(ending));

  // The folder that a file lies in names its setting; where two folders of one name were given, so does all of their path.
  function takeFolders(found) {
    const photographs = found.filter(({ path }) => path.split("/").every((part) => !part.startsWith(".")) && isPhotograph(path));
    const folders = new Map();
    const folder = (path) => path.split("/").slice(0, -1);
    for (const { path } of photographs) {
      const own = folder(path), last = own[own.length - 1];
      folders.set(last, (folders.get(last) || new Set()).add(own.join("/")));
    }
    return photographs.map(({ path, file }) => {
      const own = folder(path), last = own[own.length - 1];
      if (last === undefined) return { name: file.name, file };
      return { name: (folders.get(last).size > 1 ? own.join(" ") : last) + "/" + file.name, file };
    });
  }

  const inOrder = (files) => files.sort((a, b) => (a.name < b.name ? -1 : 1));

  async function dropped(transfer) {
    const items = [...transfer.items].filter((item) => item.kind === "file");
    const held = items.map((item) => ({ entry: item.webkitGetAsEntry && item.webkitGetAsEntry(), file: item.getAsFile() }));
    const single = [], found = [];
    for (const { entry, file } of held) {
      if (entry && entry.isDirectory) found.push(...await below(entry, entry.name));
      else if (file) single.push({ name: file.name, file });
    }
    const inFolders = takeFolders(found);
    await take(inOrder([...single, ...inFolders]), found.length - inFolders.length);
  }

  const drop = byId("drop");
  let over = 0;
  document.addEventListener("dragover", (event) => event.preventDefault());
  document.addEventListener("dragenter", (event) => { event.preventDefault(); over += 1; drop.classList.add("over"); });
  document.addEventListener("dragleave", () => { over -= 1; if (over < 1) { over = 0; drop.classList.remove("over"); } });
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    over = 0;
    drop.classList.remove("over");
    if (event.dataTransfer) dropped(event.dataTransfer);
  });
  byId("files").addEventListener("change", (event) => {
    const files = [...event.target.files].map((file) => ({ name: file.name, file }));
    event.target.value = "";
    take(files);
  });
  byId("folder").addEventListener("change", (event) => {
    const found = [...event.target.files].map((file) => ({ path: file.webkitRelativePath || file.name, file }));
    event.target.value = "";
    const files = takeFolders(found);
    take(inOrder(files), found.length - files.length);
  });
