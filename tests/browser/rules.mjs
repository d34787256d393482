// What a page must keep as a browser lays it out.

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const source = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];

// Violations of the rules, and contrasts that neither the engine nor the sum
// below could judge: those were not looked at, which is no pass.
export async function accessibility(page, without = []) {
  await page.evaluate(source);
  const found = await page.evaluate(
    async ([tags, without]) => {
      const rules = { 'target-size': { enabled: true } };
      for (const rule of without) rules[rule] = { enabled: false };
      const result = await axe.run(document, { runOnly: { type: 'tag', values: tags }, rules });
      const name = (rule, node) => `${rule.id}: ${rule.help}\n  ${node.html.slice(0, 300)}\n  ${node.failureSummary}`;
      // Where the engine cannot tell the background, it is worked out here: the
      // first ancestor that paints one, and the contrast of WCAG 2.2, 1.4.3.
      const channels = (colour) => {
        const found = colour.match(/rgba?\(([^)]+)\)/);
        return found ? found[1].split(/[ ,/]+/).map(Number) : null;
      };
      const luminance = ([red, green, blue]) => {
        const linear = [red, green, blue].map((c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4));
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
      };
      const judged = (node) => {
        const element = document.querySelector(node.target.join(' '));
        // Words for a screen reader alone have no colour to judge.
        if (element?.closest('.unseen')) return true;
        let behind = element;
        while (behind && !(channels(getComputedStyle(behind).backgroundColor)?.[3] ?? 1)) {
          if (getComputedStyle(behind).backgroundImage !== 'none') return false;
          behind = behind.parentElement;
        }
        if (!behind) return false;
        const style = getComputedStyle(element);
        const ink = channels(element.ownerSVGElement ? style.fill : style.color);
        const paper = channels(getComputedStyle(behind).backgroundColor);
        if (!ink || !paper || (ink[3] ?? 1) < 1 || (paper[3] ?? 1) < 1) return false;
        const [darker, lighter] = [luminance(ink), luminance(paper)].sort((one, other) => one - other);
        return (lighter + 0.05) / (darker + 0.05) >= 4.5;
      };
      const unsure = result.incomplete
        .filter((rule) => rule.id === 'color-contrast')
        .map((rule) => ({ ...rule, nodes: rule.nodes.filter((node) => !judged(node)) }));
      return {
        faults: [...result.violations, ...unsure].flatMap((rule) => rule.nodes.map((node) => name(rule, node))),
        passes: result.passes.length,
      };
    },
    [tags, without],
  );
  if (found.passes === 0) found.faults.push('the rules looked at nothing');
  return found.faults;
}

// Nothing scrolls sideways on the narrowest phone, nor at 400 % on a desktop:
// 1280 by 1024 px are then 320 by 256.
export async function sideways(page) {
  const before = page.viewportSize();
  const faults = [];
  for (const height of [640, 256]) {
    await page.setViewportSize({ width: 320, height });
    faults.push(...(await page.evaluate(widest)));
  }
  await page.setViewportSize(before);
  return faults;
}

function widest() {
  const width = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth <= width) return [];
  const wide = [...document.querySelectorAll('body *')].filter((one) => one.getBoundingClientRect().right > width + 1);
  const named = wide.slice(0, 3).map((one) => one.outerHTML.slice(0, 200));
  return [`${document.documentElement.scrollWidth} px wide on 320 px: ${named.join('\n')}`];
}
