// What a page must keep as a browser lays it out.

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const source = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];

// Violations of the rules, and contrasts that the engine could not judge: those
// were not looked at, which is no pass.
export async function accessibility(page, only = null) {
  await page.evaluate(source);
  const found = await page.evaluate(
    async ([tags, only]) => {
      const runOnly = only ? { type: 'rule', values: only } : { type: 'tag', values: tags };
      const result = await axe.run(document, { runOnly, rules: { 'target-size': { enabled: true } } });
      const name = (rule, node) => `${rule.id}: ${rule.help}\n  ${node.html.slice(0, 300)}\n  ${node.failureSummary}`;
      // Words for a screen reader alone have no colour to judge.
      const visible = (node) => !document.querySelector(node.target.join(' '))?.closest('.unseen');
      const unsure = result.incomplete
        .filter((rule) => rule.id === 'color-contrast')
        .map((rule) => ({ ...rule, nodes: rule.nodes.filter(visible) }));
      // What a scrolled table hides is brought into view and judged there.
      for (const rule of unsure) {
        const still = [];
        for (const node of rule.nodes) {
          const element = document.querySelector(node.target.join(' '));
          element.scrollIntoView({ block: 'center', inline: 'center' });
          const again = await axe.run(element, { runOnly: { type: 'rule', values: [rule.id] } });
          if (again.incomplete.length > 0 || again.violations.length > 0) still.push(node);
        }
        rule.nodes = still;
      }
      return {
        faults: [...result.violations, ...unsure].flatMap((rule) => rule.nodes.map((node) => name(rule, node))),
        passes: result.passes.length,
      };
    },
    [tags, only],
  );
  if (found.passes === 0) found.faults.push('the rules looked at nothing');
  return found.faults;
}

// Nothing scrolls sideways on the narrowest phone, or at 400 % on a desktop.
export async function sideways(page) {
  const before = page.viewportSize();
  await page.setViewportSize({ width: 320, height: 640 });
  const faults = await page.evaluate(() => {
    const width = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth <= width) return [];
    const wide = [...document.querySelectorAll('body *')].filter((one) => one.getBoundingClientRect().right > width + 1);
    const named = wide.slice(0, 3).map((one) => one.outerHTML.slice(0, 200));
    return [`${document.documentElement.scrollWidth} px wide on 320 px: ${named.join('\n')}`];
  });
  await page.setViewportSize(before);
  return faults;
}
