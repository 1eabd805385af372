// Menus for pictures to choose among (without this all of them stand one after another), pictures that grow, links that unfold.
(() => {
  function choice(frame) {
    const options = [...frame.querySelectorAll(".option")];
    const labels = options.map((option) => JSON.parse(option.dataset.labels));
    const bar = document.createElement("p");
    bar.className = "tools";
    const menus = JSON.parse(frame.dataset.menus).map((name, place) => {
      const label = document.createElement("label");
      const menu = document.createElement("select");
      for (const word of new Set(labels.map((each) => each[place]))) menu.add(new Option(word));
      label.append(`${name} `, menu);
      bar.append(label, " ");
      return menu;
    });
    const show = () => {
      const wanted = menus.map((menu) => menu.value);
      options.forEach((option, place) => {
        option.classList.toggle("put-away", !labels[place].every((word, menu) => word === wanted[menu]));
      });
    };
    menus.forEach((menu) => menu.addEventListener("change", show));
    frame.prepend(bar);
    frame.classList.add("ready");
    show();
  }

  document.querySelectorAll(".choice").forEach(choice);

  // On a telephone a picture fits the screen, and a tap makes it large enough to read its small print.
  const turn = (frame) => frame.classList.toggle("large");
  document.querySelectorAll(".wide").forEach((frame) => {
    frame.addEventListener("click", () => turn(frame));
    frame.addEventListener("keydown", (event) => event.key === "Enter" && turn(frame));
  });

  // A link into a folded chapter opens it.
  const unfold = () => {
    const chapter = document.getElementById(location.hash.slice(1))?.querySelector(".chapter");
    if (chapter) chapter.open = true;
  };
  window.addEventListener("hashchange", unfold);
  unfold();
})();
