// Layers and defaults of the early rules' keys.
#include "rules/early.h"

namespace clutchward {
namespace {

template <class T>
void take(std::optional<T>& into, const std::optional<T>& from) {
  if (from) into = from;
}

}  // namespace

void lay_over(EarlyPatch& below, const EarlyPatch& above) {
  take(below.window, above.window);
  take(below.ahead, above.ahead);
  take(below.towards, above.towards);
  take(below.lambda, above.lambda);
  take(below.sigmas, above.sigmas);
  take(below.at_least, above.at_least);
  take(below.learn, above.learn);
  take(below.lag, above.lag);
  take(below.confirm, above.confirm);
  take(below.signal, above.signal);
  take(below.bad, above.bad);
  take(below.frozen, above.frozen);
  take(below.alone, above.alone);
}

EarlyRule complete(const EarlyPatch& patch) {
  EarlyRule rule;
  rule.window = patch.window.value_or(rule.window);
  rule.ahead = patch.ahead.value_or(rule.ahead);
  rule.towards = patch.towards.value_or(rule.towards);
  rule.lambda = patch.lambda.value_or(rule.lambda);
  rule.sigmas = patch.sigmas.value_or(rule.sigmas);
  rule.at_least = patch.at_least.value_or(rule.at_least);
  rule.learn = patch.learn.value_or(rule.learn);
  rule.lag = patch.lag;
  rule.confirm = patch.confirm.value_or(rule.confirm);
  rule.signal = patch.signal.value_or("");
  rule.bad = patch.bad.value_or(usage_of_signal(rule.signal).bad);
  rule.frozen = patch.frozen.value_or(rule.frozen);
  rule.alone = patch.alone.value_or(rule.alone);
  return rule;
}

}  // namespace clutchward
