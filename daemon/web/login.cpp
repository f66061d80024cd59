// Logging in and out.
#include "web/handlers.h"
#include "web/html.h"
#include "web/request_check.h"
#include "web/site.h"

namespace clutchward {
namespace {

constexpr std::string_view kLogin = R"(<main>
<h1>Who are you?</h1>
{{#wrong}}<p class="doubts" role="alert">{{wrong}}</p>
{{/wrong}}<form method="post" action="/login" class="fields">
<input type="hidden" name="to" value="{{to}}">
<label for="person">Name</label>
<input id="person" name="person" autocomplete="username" autocapitalize="none" required maxlength="64">
<label for="passphrase">Passphrase</label>
<input id="passphrase" name="passphrase" type="password" autocomplete="current-password" required maxlength="1024">
<button class="main">Log in</button>
</form>
<p class="note">Your name is the one in the configuration. This phone then stays logged in until it is not used for three months.</p>
</main>
)";

Answer form(unsigned status, const Site& site, std::string_view to, std::string_view wrong) {
  HtmlData data;
  put(data, "title", "Log in");
  put(data, "to", own_path(to));
  put(data, "wrong", wrong);
  return html(status, document(kLogin, data, site.gate.terms(), {}));
}

std::string value_of(const Fields& fields, std::string_view name) {
  for (const auto& [each, value] : fields)
    if (each == name) return value;
  return {};
}

}  // namespace

void get_login(Site& site, const Request& request, const Visitor&, const Respond& respond) {
  respond(form(200, site, request.parameter("to"), ""));
}

void post_login(Site& site, const Request& request, const Visitor&, const Respond& respond) {
  const auto fields = decoded_form(request.body);
  if (!fields) return respond(sentence(400, "The form cannot be read."));
  const std::string person = value_of(*fields, "person");
  const std::string to = own_path(value_of(*fields, "to"));
  const Moment now = site.door.now();
  site.gate.check(person, Gate::Secret::passphrase, value_of(*fields, "passphrase"),
                  site.gate.address_of(request), now,
                  [&site, request, person, to, now, respond](std::optional<Answer> refusal) {
                    if (refusal) {
                      Answer answer = form(refusal->status == 401 ? 403 : refusal->status, site, to,
                                           refusal->body);
                      answer.headers = refusal->headers;
                      return respond(std::move(answer));
                    }
                    Answer answer = go_to(to);
                    answer.headers.push_back(
                        site.gate.open_session(request, person, /*links_only=*/false, now.wall));
                    respond(std::move(answer));
                  });
}

void post_logout(Site& site, const Request& request, const Visitor& visitor,
                 const Respond& respond) {
  const auto fields = decoded_form(request.body);
  if (!fields) return respond(sentence(400, "The form cannot be read."));
  if (auto refusal = site.gate.without_token(visitor, value_of(*fields, "token")))
    return respond(std::move(*refusal));
  Answer answer = go_to("/login");
  answer.headers.push_back(site.gate.close_session(request));
  respond(std::move(answer));
}

}  // namespace clutchward
