// Menus for pictures to choose among: without this all of them stand one after another.
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
})();
