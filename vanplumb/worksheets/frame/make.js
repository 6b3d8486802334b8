// A new element of a class at the end of its parent.
const make = (tag, name, parent) => {
  const one = document.createElement(tag);
  one.className = name;
  parent.appendChild(one);
  return one;
};

