"""Who may take an order from one state to the next, and who may write what of it. No database."""

from __future__ import annotations

from continuity.people.documents import Role
from continuity.shop.documents import UNDER_WAY, Answer, OrderDocument, OrderState, RaisedBy
from continuity.sync.refusal import Code, Refusal

Roles = frozenset[Role]

MAKERS: Roles = frozenset({Role.SHOP, Role.DEPARTMENT_HEAD})
RECEIVERS: Roles = frozenset({Role.SET_ARTIST, Role.DEPARTMENT_HEAD})
HEAD: Roles = frozenset({Role.DEPARTMENT_HEAD})

_ASKED_FOR, _TAKEN_ON, _CASTING = OrderState.ASKED_FOR, OrderState.TAKEN_ON, OrderState.CASTING
_SENT, _ARRIVED, _CALLED_OFF = OrderState.SENT, OrderState.ARRIVED, OrderState.CALLED_OFF

STEPS: dict[tuple[OrderState, OrderState], Roles] = {
    (_ASKED_FOR, _TAKEN_ON): MAKERS,
    (_ASKED_FOR, _CALLED_OFF): HEAD,
    (_TAKEN_ON, _ASKED_FOR): MAKERS,
    (_TAKEN_ON, _CASTING): MAKERS,
    (_TAKEN_ON, _SENT): MAKERS,
    (_TAKEN_ON, _ARRIVED): RECEIVERS,
    (_TAKEN_ON, _CALLED_OFF): HEAD,
    (_CASTING, _TAKEN_ON): MAKERS,
    (_CASTING, _SENT): MAKERS,
    (_CASTING, _ARRIVED): RECEIVERS,
    (_CASTING, _CALLED_OFF): HEAD,
    (_SENT, _CASTING): MAKERS,
    (_SENT, _ARRIVED): RECEIVERS,
    (_ARRIVED, _SENT): RECEIVERS,
}
"""Every step there is, with the roles that may take it. The steps back are for what was said too early."""

WORDS = {
    _ASKED_FOR: "asked for",
    _TAKEN_ON: "taken on",
    _CASTING: "casting",
    _SENT: "sent",
    _ARRIVED: "arrived",
    _CALLED_OFF: "called off",
}

CONTENT = ("grade", "mould", "copies", "pours", "needed_on", "latest_start", "why")
"""What a person decides of an order that is raised by hand, as long as it is asked for."""

WORKED_OUT = ("appliance", "raised_by", "possible", "p_covered_now", "best_p_covered", "still_short")
"""What no person changes."""


def allowed(state: OrderState, following: OrderState, role: Role) -> bool:
    """Whether this role may take an order from one state to the following."""
    return role in STEPS.get((state, following), frozenset())


def check_new(order: OrderDocument, role: Role) -> None:
    """Raises `Refusal` unless this role may raise this order by hand."""
    if role not in MAKERS:
        raise Refusal(Code.not_allowed, "Your role may not raise an order.")
    if order.raised_by is not RaisedBy.HAND:
        raise Refusal(
            Code.not_allowed, "An order raised by the cover is not made by hand.", field="raised_by"
        )
    if order.state is not OrderState.ASKED_FOR:
        raise Refusal(Code.no_such_step, "An order begins as asked for.", field="state")
    for field in (*WORKED_OUT[2:], "question", "answer"):
        if getattr(order, field) is not None:
            raise Refusal(Code.not_allowed, f"{field} is not written by hand.", field=field)


def check_change(
    before: OrderDocument, after: OrderDocument, role: Role, *, question_unseen: bool = False
) -> None:
    """Raises `Refusal` unless this role may change the order so. ``question_unseen`` says that what is asked
    has changed since the writer saw it.
    """
    changed = [name for name in OrderDocument.model_fields if getattr(before, name) != getattr(after, name)]
    for field in changed:
        if field == "state":
            _check_step(before.state, after.state, role)
        elif field == "question":
            _check_question(before, after, role)
        elif field == "answer":
            _check_answer(before, after, role, question_unseen)
        elif role not in MAKERS:
            raise Refusal(Code.not_allowed, "Your role may not write this of an order.", field=field)
        elif field in WORKED_OUT or (field in CONTENT and before.raised_by is RaisedBy.COVER):
            raise Refusal(Code.not_allowed, f"{field} is not written by hand.", field=field)
        elif field in CONTENT and before.state is not OrderState.ASKED_FOR:
            raise Refusal(
                Code.not_allowed, "The order is taken on: a change is asked of the shop.", field=field
            )


def check_taken_back(order: OrderDocument, role: Role) -> None:
    """Raises `Refusal` unless this role may take the order back, as entered by mistake."""
    if role not in MAKERS or order.raised_by is not RaisedBy.HAND or order.state is not OrderState.ASKED_FOR:
        raise Refusal(Code.not_allowed, "An order is called off, and not taken back.", field="withdrawn")


def at_rest(order: OrderDocument) -> OrderDocument:
    """The order with what the shop has agreed to brought in, and without a question that is answered so or
    has nobody left to answer it.
    """
    settled = {"question": None, "answer": None}
    question = order.question
    if question is None:
        return order.model_copy(update=settled) if order.answer else order
    if order.state not in UNDER_WAY:
        return order.model_copy(update=settled)
    if order.answer is not Answer.AGREED:
        return order
    if question.copies == 0:
        return order.model_copy(update={**settled, "state": OrderState.CALLED_OFF})
    start = question.latest_start
    if order.raised_by is RaisedBy.HAND and start is None and question.needed_on >= order.needed_on:
        # Who asks by hand for more copies has said nothing of when to start; the cover has: at once.
        start = order.latest_start
    return order.model_copy(
        update={
            **settled,
            "copies": question.copies,
            "pours": question.pours or order.pours,
            "needed_on": question.needed_on,
            "latest_start": start,
            "why": question.why,
        }
    )


def _check_step(state: OrderState, following: OrderState, role: Role) -> None:
    roles = STEPS.get((state, following))
    if roles is None:
        raise Refusal(
            Code.no_such_step,
            f"An order that is {WORDS[state]} does not become {WORDS[following]}.",
            field="state",
        )
    if role not in roles:
        raise Refusal(
            Code.not_your_step, f"Your role does not say that an order is {WORDS[following]}.", field="state"
        )


def _check_question(before: OrderDocument, after: OrderDocument, role: Role) -> None:
    """A change to an order by hand is asked for by the head; the cover asks for its own."""
    if role not in HEAD or before.raised_by is RaisedBy.COVER:
        raise Refusal(Code.not_allowed, "question is not written by hand.", field="question")
    if after.state not in UNDER_WAY:
        raise Refusal(
            Code.not_allowed, "Nothing is asked of an order the shop does not have.", field="question"
        )
    if after.answer is not None:
        raise Refusal(Code.not_allowed, "A new question has no answer yet.", field="answer")


def _check_answer(before: OrderDocument, after: OrderDocument, role: Role, question_unseen: bool) -> None:
    if before.question != after.question:
        # Asked anew or withdrawn: the answer to the last one goes with it.
        if after.answer is None:
            return
        raise Refusal(Code.not_allowed, "A new question has no answer yet.", field="answer")
    if role not in MAKERS:
        raise Refusal(Code.not_allowed, "The shop answers what is asked of it.", field="answer")
    if question_unseen or after.question is None:
        raise Refusal(
            Code.question_changed,
            "What is asked has changed since. Answer it as it stands now.",
            field="answer",
        )
